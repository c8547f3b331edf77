"""The gate's question about pairs: has this item an accepted fit on this player that still says something?"""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from uuid import UUID

from fitting.domain.fit_gate import MISSING, OfPair, due_on, effect_of, gone_stale, not_accepted
from fitting.domain.fit_staleness import Event
from fitting.models import Fit
from fitting.queries.fit_rules import rule_of
from fitting.queries.fits import Pair, last_fits, stale
from fitting.queries.loaners import prefitted_pairs
from gearlife.domain.clocks import Rule
from gearlife.domain.days import local_day
from gearlife.domain.recorded import ItemRecord, Recorded


def fits_of_pairs(pairs: Iterable[Pair], about: Recorded, day: date, lent: Collection[Pair] = ()) -> dict[Pair, OfPair]:
    """What speaks against each of these pairs; one that has a current accepted fit is not among them.

    Of those to be `lent` whose item is set up for a band of sizes it is said so, in place of that no fit is recorded.
    `about` has the items, the rules and the seasons; a fixed number of queries, however many the pairs.
    """
    asked = list(pairs)
    fits = last_fits(asked)
    rules = {item_id: rule_of(about, about.items[item_id], day) for item_id, _ in asked}
    because = stale(
        [fit for fit in fits.values() if fit.accepted],
        {fit.id: _due(fit, rules[fit.item_id], about, day) for fit in fits.values()},
    )
    said = {pair: _words(fits.get(pair), because, about.items[pair[0]]) for pair in asked}
    if unfitted := [pair for pair in lent if pair not in fits]:
        said |= prefitted_pairs(unfitted, about, day)
    return {pair: OfPair(effect_of(rules[pair[0]]), words) for pair, words in said.items() if words}


def _words(fit: Fit | None, because: Mapping[UUID, list[Event]], item: ItemRecord) -> str:
    if fit is None:
        return MISSING
    fitted_on = local_day(fit.fitted_at, item.timezone)
    if not fit.accepted:
        return not_accepted(fitted_on)
    return gone_stale(fitted_on, because[fit.id]) if because[fit.id] else ""


def _due(fit: Fit, rule: Rule | None, about: Recorded, day: date) -> date | None:
    """The day on which it fell due by rhythm; None while that is to come."""
    item = about.items[fit.item_id]
    falls_on = due_on(rule, item.facts(), local_day(fit.fitted_at, item.timezone), about.seasons.get(item.club_id, ()))
    return falls_on if falls_on and falls_on <= day else None
