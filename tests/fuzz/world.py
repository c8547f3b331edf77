"""A small club in mid-season with a row in every state that some act wants, so that what is asked can also succeed."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Model

from fitting.models import Assignment
from gearlife.domain.rebuilding import rebuild
from gearlife.models import Alert, Club, Hold, Item, Photo, PolicyRule
from gearlife.operations.holds import NewHold, hold
from gearlife.operations.items import mark_missing, retire
from gearlife.operations.photos import add_photo, keep_file
from gearlife.operations.sweep import sweep_all
from gearlife.queries.access import actor_of_user
from inspections.models import Checklist
from inspections.operations.inspect import NewInspection, record_inspection
from tests.factories import AT, DAY, ItemFactory, PlayerFactory, pads, put_on, stamp
from tests.gearlife.api.league import League
from tests.gearlife.pictures import picture


class World:
    """The league's rows and some more of those that acts use up; `ids` by resource."""

    def __init__(self) -> None:
        self.league = League()
        club = self.league.club
        self.by = stamp(actor_of_user(self.league.users["O"]))
        self.rows: Mapping[str, Sequence[Model]] = {
            **{name: [row] for name, row in self.league.rows.items()},
            "items": self._items(club),
            "players": [self.league.player, PlayerFactory.create(club=club), PlayerFactory.create(club=club)],
            "models": [self.league.item.model, pads(club).model],
            "photos": [_kept_photo(club), self.league.photo],
            "memberships": [self.league.users[letter].memberships.get() for letter in "OV"],
        }
        sweep_all(at=AT)
        self.rows |= {
            "assignments": [self.league.assignment, self._worn(club)],
            "holds": list(Hold.objects.filter(item__club=club, released_at__isnull=True)),
            "alerts": list(Alert.objects.filter(club=club, closed_at__isnull=True).order_by("severity", "id")),
            "policy-rules": list(PolicyRule.objects.filter(organisation=club.organisation).order_by("id")[:4]),
            "checklists": list(Checklist.objects.filter(organisation=club.organisation).order_by("id")),
        }

    def by_hand(self) -> dict[str, dict[str, Any]]:
        """Bodies that are taken, by resource: what chance hardly ever finds, for its members must agree."""
        ids = self.ids
        sheet = b"serial,kind,manufacturer,model,size,made_on\nSHEET-1,helmet,Oakshell Works,Dome,M,2026-03\n"
        return {
            "POST certifications/": {"item": ids["items"][1], "kind": "original", "certified_on": "2026-04-01"},
            "POST items/hold-many/": {
                "model": ids["models"][0],
                "ranges": [{"from": "SN-00001", "to": "SN-99999"}],
                "reason": "a maker's notice",
                "reference": "N-1",
            },
            "POST assignments/": {"item": ids["items"][1], "player": ids["players"][2]},
            "POST intakes/": {"club": ids["clubs"][0], "of": "items", "file": sheet},
            "POST photos/": {"club": ids["clubs"][0], "file": picture()},
        }

    @property
    def ids(self) -> dict[str, list[str]]:
        """The ids of the rows, by resource."""
        return {name: [str(row.pk) for row in rows] for name, rows in self.rows.items()}

    def _items(self, club: Club) -> list[Item]:
        one_of_each = [self._missing(club), self._retired(club), self._held(club)]
        return [self.league.item, *self._ready(club), *one_of_each]

    def _ready(self, club: Club) -> list[Item]:
        """Two helmets that may be issued: both were looked at today."""
        items = [ItemFactory.create(club=club) for _ in range(2)]
        for item in items:
            record_inspection(new=NewInspection(item, inspected_at=self.by.at), stamp=self.by)
        return items

    def _missing(self, club: Club) -> Item:
        return mark_missing(item=ItemFactory.create(club=club), stamp=self.by)

    def _retired(self, club: Club) -> Item:
        return retire(item=ItemFactory.create(club=club), reason="its shell is worn out", on=DAY, stamp=self.by)

    def _held(self, club: Club) -> Item:
        item = ItemFactory.create(club=club)
        hold(new=NewHold(item_id=item.id, reason="a clip is missing"), stamp=self.by)
        return item

    def _worn(self, club: Club) -> Assignment:
        return put_on(pads(club), PlayerFactory.create(club=club))


def _kept_photo(club: Club) -> Photo:
    """A photograph with the file that stands behind it."""
    rebuilt = rebuild(picture())
    path = keep_file(rebuilt, club.organisation_id)
    return add_photo(club=club, picture=rebuilt, path=path, stamp=stamp(club.organisation))
