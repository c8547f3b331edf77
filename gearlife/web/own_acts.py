"""The acts on an item that gearlife itself offers, for whoever may do them."""

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import STOPPERS, WRITERS, Actor
from gearlife.domain.vocabulary import Advice, Role, Standing, Whereabouts
from gearlife.web.item import may
from gearlife.web.registry import ItemAct

Row = Mapping[str, Any]
GONE = {Whereabouts.MISSING.value, Whereabouts.DISPOSED.value}


def _by(roles: frozenset[Role], applies: Callable[[Row], bool]) -> Callable[..., bool]:
    """Whether it applies to the row, and one of the roles is held where the row is."""

    def asked(row: Row, actor: Actor) -> bool:
        return applies(row) and may(actor, roles, row.get("club"))

    return asked


def _anything(row: Row) -> bool:
    return True


def _in_use(row: Row) -> bool:
    return bool(row["standing"] != Standing.RETIRED)


def _retired(row: Row) -> bool:
    return not _in_use(row) and row["whereabouts"] != Whereabouts.DISPOSED


def _missing(row: Row) -> bool:
    return bool(row["whereabouts"] == Whereabouts.MISSING)


def _not_gone(row: Row) -> bool:
    return row["whereabouts"] not in GONE


ACTS = (
    ItemAct(_("It was found"), "gearlife:found", 40, _by(WRITERS, _missing), frozenset({Advice.RETURN})),
    ItemAct(_("Stop it"), "gearlife:stop", 50, _by(STOPPERS, _in_use)),
    ItemAct(
        _("Record a certification"), "gearlife:certify", 60, _by(WRITERS, _in_use), frozenset({Advice.RECONDITION})
    ),
    ItemAct(_("Change what is recorded"), "gearlife:item-change", 75, _by(WRITERS, _anything)),
    ItemAct(_("Mark it missing"), "gearlife:missing", 70, _by(WRITERS, _not_gone)),
    ItemAct(_("Retire it"), "gearlife:retire", 80, _by(WRITERS, _in_use), frozenset({Advice.RETIRE})),
    ItemAct(_("Correct its retirement"), "gearlife:correct-retirement", 90, _by(WRITERS, _retired)),
)
