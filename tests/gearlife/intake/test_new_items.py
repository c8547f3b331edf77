"""Items of a file have what items registered one by one have: the same clocks, read the same, and the same alerts."""

import pytest

from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Evidence
from gearlife.models import Alert, Clock, Club, GearModel, Item
from gearlife.operations import clocks
from gearlife.operations.items import NewItem, register
from gearlife.queries.recorded import read, read_facts, read_new
from tests.factories import DAY, ClubFactory, stamp
from tests.gearlife.intake.club_files import file_of, helmet, taken_in

pytestmark = pytest.mark.django_db
MADE = ("2009-03", "2010-08-01", "2021", "2021-03", "2026-01", "")
OF_CLOCK = ("code", "anchor", "anchor_on", "counts", "amount", "falls_on", "alert_on", "until", "effect", "rule_id")
OF_ALERT = ("kind", "advice", "severity", "stage", "falls_on", "because", "player_id")


def by_file(club: Club) -> list[Item]:
    taken_in(file_of(*(helmet(serial=f"F{n}", made_on=made) for n, made in enumerate(MADE))), club)
    return list(Item.objects.filter(serial__startswith="F").select_related("club", "model").order_by("serial"))


def one_by_one(club: Club) -> list[Item]:
    model = GearModel.objects.get()
    return [
        register(
            new=NewItem(
                club=club,
                model=model,
                serial=f"R{n}",
                size="L",
                made_on=PartialDate.parse(made) if made else None,
                made_on_evidence=Evidence.CLUBS_FILE,
            ),
            stamp=stamp(club.organisation),
        )
        for n, made in enumerate(MADE)
    ]


def test_items_of_a_file_have_the_clocks_and_alerts_of_items_registered_one_by_one() -> None:
    club = ClubFactory.create()
    for filed, registered in zip(by_file(club), one_by_one(club), strict=True):
        for table, columns in ((Clock, OF_CLOCK), (Alert, OF_ALERT)):
            rows = [set(table.objects.filter(item=item).values_list(*columns)) for item in (filed, registered)]
            assert rows[0] == rows[1]


def test_items_just_made_are_read_as_the_database_reads_them() -> None:
    items = by_file(ClubFactory.create())
    stored = read([item.id for item in items], DAY)
    assert clocks.recompute(read_facts([item.id for item in items])) == 0
    Clock.objects.all().delete()
    revision = Club.objects.get(id=items[0].club_id).policy_revision
    for item in items:
        item.clocks_revision = revision
    new = read_new(items, {items[0].club_id: revision})
    clocks.start(new)
    assert (new.items, new.seasons, new.rules) == (stored.items, stored.seasons, stored.rules)
    assert new.clocks == stored.clocks
