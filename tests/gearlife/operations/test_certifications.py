"""Certifications move their clock forwards only, and count from the earliest day that they may have been given."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import CertificationKind, Evidence, LabelYearMeans
from gearlife.models import Certification, Item
from gearlife.operations import certifications, organisations
from gearlife.queries.gate import verdicts
from tests.factories import AT, DAY, ClubFactory, ItemFactory, SeasonFactory, stamp
from tests.gearlife.intake.club_files import taken_in

pytestmark = pytest.mark.django_db

RECERTIFIED = CertificationKind.RECERTIFICATION


def certify(item: Item, kind: CertificationKind = RECERTIFIED, **values: Any) -> Certification:
    """Record a certification."""
    new = certifications.NewCertification(kind, **values)
    return certifications.certify(item=item, new=new, stamp=stamp(item.organisation))


def an_older_helmet() -> Item:
    """A helmet made in 2020, of a maker that states 24 months."""
    return ItemFactory.create(made_on="2020-03")


def a_helmet_known_since_spring() -> Item:
    """A helmet that was taken in five months ago."""
    club = ClubFactory.create()
    return ItemFactory.create(club=club, stamp=stamp(club.organisation, AT - timedelta(days=150)))


def lapses_on(item: Item) -> date:
    """When its certification lapses."""
    return Item.objects.get(id=item.id).clocks.get(code="certification").falls_on


def against(item: Item) -> set[str]:
    """Which concerns speak against issuing it."""
    return {hit.kind for hit in verdicts([item.id], DAY)[item.id].against}


def test_a_recertification_moves_the_clock() -> None:
    item = an_older_helmet()
    certify(item, certified_on=date(2026, 2, 1))

    assert lapses_on(item) == date(2028, 2, 1)


def test_an_older_recertification_that_is_recorded_later_moves_nothing() -> None:
    item = an_older_helmet()
    certify(item, certified_on=date(2026, 2, 1))
    certify(item, certified_on=date(2024, 2, 1))

    assert lapses_on(item) == date(2028, 2, 1)


@pytest.mark.parametrize("kind", [CertificationKind.ORIGINAL, CertificationKind.RECONDITIONING])
def test_what_is_no_recertification_moves_no_clock(kind: CertificationKind) -> None:
    item = an_older_helmet()
    certify(item, kind, certified_on=date(2026, 2, 1))

    assert lapses_on(item) == date(2022, 3, 1)
    assert item.certifications.get().kind == kind


@pytest.mark.parametrize(
    ("means", "counts_from"),
    [
        (LabelYearMeans.WORK, date(2026, 1, 1)),
        (LabelYearMeans.SEASON, date(2025, 11, 30)),
        (LabelYearMeans.UNKNOWN, date(2025, 11, 30)),
    ],
)
def test_a_labels_year_counts_by_what_it_means(means: LabelYearMeans, counts_from: date) -> None:
    item = an_older_helmet()
    SeasonFactory.create(club=item.club, year=2025, starts_on=date(2025, 8, 16), ends_on=date(2025, 11, 29))
    row = certify(item, label_year=2026, label_year_means=means)

    assert (row.counts_from, row.label_year, row.label_year_means) == (counts_from, 2026, means)


def test_a_labels_year_is_reckoned_anew_when_the_season_before_is_entered_moved_or_taken_back() -> None:
    item = an_older_helmet()
    own = stamp(item.organisation)
    certify(item, label_year=2026, label_year_means=LabelYearMeans.SEASON)
    assert lapses_on(item) == date(2027, 12, 1)

    season = SeasonFactory.create(club=item.club, year=2025, starts_on=date(2025, 8, 16), ends_on=date(2025, 11, 8))
    assert lapses_on(item) == date(2027, 11, 9)

    organisations.change_season(season=season, changes={"ends_on": date(2025, 11, 15)}, stamp=own)
    assert lapses_on(item) == date(2027, 11, 16)

    organisations.remove_season(season=season, stamp=own)
    assert lapses_on(item) == date(2027, 12, 1)


def test_a_label_for_next_year_counts_from_today_at_the_latest() -> None:
    row = certify(an_older_helmet(), label_year=2027, label_year_means=LabelYearMeans.SEASON)

    assert row.counts_from == DAY


@pytest.mark.parametrize(
    ("values", "pointer"),
    [
        ({}, "/certified_on"),
        ({"certified_on": DAY + timedelta(days=1)}, "/certified_on"),
        ({"certified_on": date(2020, 2, 29)}, "/certified_on"),
        ({"label_year": 2028}, "/label_year"),
    ],
    ids=["neither day nor year", "in the future", "before it was made", "a label of the year after next"],
)
def test_what_cannot_be_is_refused(values: dict[str, Any], pointer: str) -> None:
    item = an_older_helmet()
    with pytest.raises(InvalidInputError) as refused:
        certify(item, **values)

    assert refused.value.faults[0].pointer == pointer
    assert not item.certifications.exists()


@pytest.mark.parametrize("kind", [RECERTIFIED, CertificationKind.RECONDITIONING])
def test_what_a_firm_had_since_it_was_taken_in_is_not_issued_before_a_full_inspection(kind: CertificationKind) -> None:
    item = a_helmet_known_since_spring()
    certify(item, kind, certified_on=DAY - timedelta(days=30))

    assert against(item) == {"not_inspected_since_back"}


def test_a_certification_older_than_the_intake_asks_for_no_inspection() -> None:
    item = an_older_helmet()
    certify(item, certified_on=DAY)

    assert against(item) == set()


def test_a_file_that_tells_of_a_later_certification_asks_for_a_full_inspection() -> None:
    item = a_helmet_known_since_spring()
    names = f"{item.serial},helmet,{item.manufacturer},{item.model}"
    text = f"serial,kind,manufacturer,model,certified_on,certified_by\n{names},{DAY - timedelta(days=30)},Mendwell\n"
    taken_in(text, item.club)

    assert against(item) == {"not_inspected_since_back"}


def test_firm_and_evidence_are_kept() -> None:
    row = certify(an_older_helmet(), certified_on=DAY, firm="Mendwell", evidence=Evidence.LABEL)

    assert (row.firm, row.evidence) == ("Mendwell", Evidence.LABEL)


def test_the_database_itself_refuses_a_certification_without_day_and_year() -> None:
    row = certify(an_older_helmet(), certified_on=DAY)

    with pytest.raises(IntegrityError), transaction.atomic():
        Certification.objects.filter(id=row.id).update(certified_on=None)
