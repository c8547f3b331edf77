"""What does not fit an item, whoever says so: a model of another kind, a team of another club."""

from collections.abc import Mapping

from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.normal_form import INVISIBLE, first_of
from gearlife.models import Club, GearModel, Item, Team


def refuse_misfits(item: Item, changes: Mapping[str, object]) -> None:
    """Another model is of the same kind, and a team one of the same club's; InvalidInputError with every fault."""
    model, team = changes.get("model"), changes.get("team")
    faults = []
    if isinstance(model, GearModel) and model.kind != item.kind:
        faults.append(Fault("the model is of another kind: register the item anew", "/model"))
    if isinstance(team, Team) and team.club_id != item.club_id:
        faults.append(Fault("the team is not one of this item's club's", "/team"))
    if faults:
        raise InvalidInputError("the change does not fit the item", faults=faults)


def refuse_foreign_team(club: Club, team: Team | None) -> None:
    """InvalidInputError where the team is another club's."""
    if team and team.club_id != club.id:
        raise InvalidInputError.at("/team", "the team is not one of this club's")


def refuse_unreadable(**names: str) -> None:
    """InvalidInputError where a serial or tag holds a sign that nobody sees, and so nobody can type again."""
    faults = [
        Fault(f"It holds the invisible character {odd}: type it by hand, as it is stamped.", f"/{name}")
        for name, text in names.items()
        if (odd := first_of(text, INVISIBLE))
    ]
    if faults:
        raise InvalidInputError("the item could not be found again", faults=faults)
