"""A concern about fits: what is worn was fitted once, and the fit says nothing any more."""

from collections.abc import Iterator
from datetime import date

from fitting.domain.fit_gate import gone_stale, not_accepted
from fitting.queries.fits import fits_of_worn, stale
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity, Whereabouts
from gearlife.queries.concerns import Concern


class FitStaleConcern(Concern):
    """Worn with a fit that something recorded since has made stale, or that did not end well.

    What was never fitted by the records is said when it is handed out, not by an alert; that a fit is due by its rhythm
    alone is said by the clock of the policy rule.
    """

    kind = "fit_stale"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item worn whose fit has gone stale by the day; no stop, so only alerts ask."""
        if reach is not Reach.LEAD:
            return
        worn = [item.id for item in about.items.values() if item.whereabouts is Whereabouts.PLAYER]
        fits = fits_of_worn(worn) if worn else {}
        because = stale(fit for fit in fits.values() if fit.accepted)
        for item_id, fit in fits.items():
            item = about.items[item_id]
            fitted_on = local_day(fit.fitted_at, item.timezone)
            events = [event for event in because.get(fit.id, []) if event.on <= day]
            if fit.accepted and not events:
                continue
            yield Hit(
                kind=self.kind,
                effect=Effect.WARN,
                advice=Advice.REFIT,
                severity=Severity.ACT,
                club_id=item.club_id,
                item_id=item_id,
                player_id=fit.player_id,
                falls_on=events[0].on if events else fitted_on,
                because=gone_stale(fitted_on, events) if events else not_accepted(fitted_on),
            )
