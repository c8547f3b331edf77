"""By which checklist an item is inspected."""

import pytest

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, Item
from inspections.domain.vocabulary import Grade
from inspections.models import Checklist
from inspections.operations.checklists import add_revision
from inspections.operations.inspect import NewFinding
from inspections.queries.checklists import newest_checklists
from tests import factories
from tests.inspections.operations.inspecting import inspect

pytestmark = pytest.mark.django_db


def test_pads_are_looked_over_by_their_own_checklist(club: Club, stamp: Stamp) -> None:
    inspection = inspect(factories.pads(club), stamp, NewFinding("arch", "crack"))

    assert inspection.checklist.kind == Kind.SHOULDER_PADS
    assert inspection.outcome == Grade.STOP


def test_another_kinds_checklist_is_refused(item: Item, stamp: Stamp) -> None:
    pads = newest_checklists(item.organisation_id)[Kind.SHOULDER_PADS]
    with pytest.raises(InvalidInputError) as refusal:
        inspect(item, stamp, checklist=pads)

    assert refusal.value.faults[0].pointer == "/checklist"


def test_without_a_checklist_the_newest_revision_counts_and_an_older_one_may_be_named(item: Item, stamp: Stamp) -> None:
    first = newest_checklists(item.organisation_id)[Kind.HELMET]
    second = add_revision(kind=Kind.HELMET, points=[*first.points, {"code": "visor", "defects": []}], stamp=stamp)

    assert (first.revision, second.revision) == (1, 2)
    assert inspect(item, stamp, NewFinding("visor", "", "wear")).checklist == second
    with pytest.raises(InvalidInputError):
        inspect(item, stamp, NewFinding("visor", "", "wear"), checklist=first)


def test_a_revision_is_never_changed_by_the_next(item: Item, stamp: Stamp) -> None:
    before = Checklist.objects.values().get(kind=Kind.HELMET)
    add_revision(kind=Kind.HELMET, points=[*before["points"], {"code": "visor", "defects": []}], stamp=stamp)

    assert Checklist.objects.values().get(kind=Kind.HELMET, revision=1) == before


def test_an_organisation_without_a_checklist_is_told_so(item: Item, stamp: Stamp) -> None:
    Checklist.objects.all().delete()
    with pytest.raises(ConflictError) as refusal:
        inspect(item, stamp)

    assert refusal.value.code == "no_checklist"


def test_every_organisation_begins_with_both_default_checklists(club: Club) -> None:
    other = factories.OrganisationFactory.create()
    newest = newest_checklists(other.id)

    assert {kind: checklist.revision for kind, checklist in newest.items()} == {Kind.HELMET: 1, Kind.SHOULDER_PADS: 1}
    assert {checklist.organisation_id for checklist in newest.values()} == {other.id}
