"""What changes a rule, an interval or a season recomputes every clock that hangs on it."""

from datetime import date, timedelta
from typing import Any

import pytest

from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.models import Alert, Item, LedgerEvent, PolicyRule
from gearlife.operations import catalogue, organisations, policy
from gearlife.operations.items import retire
from tests.factories import AT, DAY, ClubFactory, ItemFactory, OrganisationFactory, SeasonFactory, add_rule, pads, stamp
from tests.gearlife.ledgers import typed

pytestmark = pytest.mark.django_db


def falls_on(item: Item, code: str) -> date:
    """When one clock of an item falls."""
    return Item.objects.get(id=item.id).clocks.get(code=code).falls_on


def the_rule(item: Item, code: str) -> PolicyRule:
    """The default rule of a code."""
    return PolicyRule.objects.get(organisation=item.organisation, code=code)


# Founding


def test_a_new_organisation_has_the_default_rules_each_with_source_and_mark() -> None:
    rules = PolicyRule.objects.filter(organisation=OrganisationFactory.create())

    assert {rule.code for rule in rules} == {
        "certification",
        "recertification_limit",
        "age_limit",
        "weekly_look",
        "weekly_air_check",
        "full_inspection",
        "fit_accepted",
    }
    assert all(rule.source and rule.mark for rule in rules)


def test_an_unknown_time_zone_is_refused() -> None:
    with pytest.raises(InvalidInputError):
        OrganisationFactory.create(timezone="Chicago")


def test_a_clubs_code_is_taken_once_in_an_organisation() -> None:
    club = ClubFactory.create(code="OTTER")
    with pytest.raises(ConflictError):
        ClubFactory.create(organisation=club.organisation, code="OTTER")

    assert ClubFactory.create(code="OTTER").organisation_id != club.organisation_id


# Seasons


def test_moving_the_last_game_moves_the_clocks_that_count_seasons() -> None:
    item = ItemFactory.create(made_on="2017-05")
    assert falls_on(item, "recertification_limit") == date(2026, 12, 6)
    organisations.change_season(
        season=item.club.seasons.get(), changes={"ends_on": date(2026, 12, 19)}, stamp=stamp(item.organisation)
    )

    assert falls_on(item, "recertification_limit") == date(2026, 12, 20)


def test_taking_a_season_back_moves_the_clocks_to_the_turn_of_the_year() -> None:
    item = ItemFactory.create(made_on="2017-05")
    organisations.remove_season(season=item.club.seasons.get(), stamp=stamp(item.organisation))

    assert falls_on(item, "recertification_limit") == date(2027, 1, 1)


def test_entering_a_season_closes_the_alert_that_asked_for_it() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False))
    alert = Alert.objects.open().get(kind="no_season")
    SeasonFactory.create(club=item.club)
    alert.refresh_from_db()

    assert alert.closed_at == AT


def test_it_closes_in_a_club_whose_gear_is_all_retired_too() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False))
    retire(item=item, reason="worn out", on=None, stamp=stamp(item.organisation))
    SeasonFactory.create(club=item.club)

    assert not Alert.objects.open().filter(kind="no_season").exists()


def test_two_seasons_of_a_club_never_overlap() -> None:
    club = ClubFactory.create()
    with pytest.raises(ConflictError) as refused:
        SeasonFactory.create(club=club, year=2027, starts_on=DAY, ends_on=DAY + timedelta(days=200))

    assert refused.value.code == "overlap"


def test_a_season_does_not_end_before_it_starts() -> None:
    with pytest.raises(InvalidInputError):
        SeasonFactory.create(starts_on=DAY, ends_on=DAY - timedelta(days=1))


def test_a_season_of_one_club_moves_no_clock_of_another() -> None:
    item = ItemFactory.create(made_on="2017-05")
    other = ItemFactory.create(club=ClubFactory.create(organisation=item.organisation), made_on="2017-05")
    organisations.remove_season(season=other.club.seasons.get(), stamp=stamp(item.organisation))

    assert falls_on(item, "recertification_limit") == date(2026, 12, 6)


# Intervals


def test_a_changed_interval_moves_the_clocks_of_all_its_items() -> None:
    item = ItemFactory.create(made_on="2026-03")
    other = ItemFactory.create(club=item.club, model=item.model, made_on="2026-04")
    catalogue.change_model(
        model=item.model, changes={"certification_interval_months": 12}, stamp=stamp(item.organisation)
    )

    assert [falls_on(one, "certification") for one in (item, other)] == [date(2027, 3, 1), date(2027, 4, 1)]


def test_an_interval_that_is_no_longer_stated_is_twelve_months() -> None:
    item = ItemFactory.create(made_on="2026-03")
    catalogue.change_model(
        model=item.model, changes={"certification_interval_months": None}, stamp=stamp(item.organisation)
    )

    assert falls_on(item, "certification") == date(2027, 3, 1)


def test_another_name_of_a_model_moves_nothing() -> None:
    item = ItemFactory.create()
    before = Item.objects.get(id=item.id).version
    catalogue.change_model(model=item.model, changes={"name": "Dome Two"}, stamp=stamp(item.organisation))

    assert Item.objects.get(id=item.id).version == before


# Rules


def test_a_new_rule_reaches_every_item_at_once() -> None:
    item = pads(ClubFactory.create(), made_on="2016-10-14")
    add_rule(item.organisation)

    assert falls_on(item, "club_age_limit") == DAY
    assert [alert.kind for alert in item.alerts.filter(closed_at__isnull=True)] == ["age_limit"]


def test_a_rule_reaches_no_item_of_another_organisation() -> None:
    item = pads(ClubFactory.create(), made_on="2016")
    add_rule(OrganisationFactory.create())

    assert not item.clocks.filter(code="club_age_limit")


def test_a_rule_that_ends_stops_nothing_the_day_after() -> None:
    item = pads(ClubFactory.create(), made_on="2010")
    rule = add_rule(item.organisation)
    policy.end_rule(rule=rule, on=DAY, reason="Not ours.", stamp=stamp(item.organisation))

    standings = [
        Item.objects.with_standing(day).values_list("standing", flat=True).get(id=item.id)
        for day in (DAY, DAY + timedelta(days=1))
    ]
    assert standings == ["stopped", "no_stop"]


def test_pads_are_free_of_the_unknown_date_once_the_age_limit_has_ended() -> None:
    item = pads(ClubFactory.create())
    rule = add_rule(item.organisation)
    policy.end_rule(rule=rule, on=DAY, reason="Not ours.", stamp=stamp(item.organisation))
    tomorrow = Item.objects.with_standing(DAY + timedelta(days=1))

    assert tomorrow.values_list("standing", flat=True).get(id=item.id) == "no_stop"


def test_the_general_rule_binds_again_once_the_models_own_has_ended() -> None:
    item = ItemFactory.create(made_on="2024-10")
    own = add_rule(item.organisation, code="certification", anchor="certified", amount=60, model=item.model)
    assert falls_on(item, "certification") == date(2029, 10, 1)
    policy.end_rule(rule=own, on=DAY, reason="A mistake.", stamp=stamp(item.organisation))
    tomorrow = Item.objects.with_standing(DAY + timedelta(days=1))

    assert tomorrow.values_list("standing", flat=True).get(id=item.id) == "stopped"


def test_ending_a_rule_is_told_with_its_reason() -> None:
    item = ItemFactory.create()
    rule = the_rule(item, "age_limit")
    policy.end_rule(rule=rule, on=DAY, reason="Our state has no such law.", stamp=stamp(item.organisation))

    told = LedgerEvent.objects.get(organisation=item.organisation, action="rule_ended")
    assert typed(told) == {"reason": "Our state has no such law."}
    assert str(rule.id) in told.text


def test_a_rule_ends_once() -> None:
    item = ItemFactory.create()
    rule = the_rule(item, "age_limit")
    policy.end_rule(rule=rule, on=DAY, reason="No.", stamp=stamp(item.organisation))

    with pytest.raises(ConflictError):
        policy.end_rule(rule=rule, on=DAY + timedelta(days=1), reason="No.", stamp=stamp(item.organisation))


def test_a_rule_does_not_end_before_it_began() -> None:
    organisation = OrganisationFactory.create()
    rule = add_rule(organisation, in_force_from=DAY)

    with pytest.raises(InvalidInputError):
        policy.end_rule(rule=rule, on=DAY - timedelta(days=1), reason="No.", stamp=stamp(organisation))


@pytest.mark.parametrize(
    ("values", "pointer"),
    [
        ({"amount": None}, "/amount"),
        ({"amount": None, "anchor": "certified", "counts": "days"}, "/counts"),
        ({"in_season_only": True}, "/counts"),
        ({"in_force_from": DAY, "in_force_to": DAY - timedelta(days=1)}, "/in_force_to"),
        ({"code": "made_on"}, "/code"),
        ({"code": "recertification_limit"}, "/effect"),
        ({"whereabouts": ["player"]}, "/whereabouts"),
    ],
    ids=[
        "no amount but from certification",
        "an interval in days",
        "months in season only",
        "ends before it begins",
        "the unknown date's code",
        "a recertification limit that stops",
        "a limit that the gate would not meet",
    ],
)
def test_a_rule_that_contradicts_itself_is_refused(values: dict[str, Any], pointer: str) -> None:
    organisation = OrganisationFactory.create()
    with pytest.raises(InvalidInputError) as refused:
        add_rule(organisation, **values)

    assert refused.value.faults[0].pointer == pointer
    assert not PolicyRule.objects.filter(organisation=organisation, code="club_age_limit")


@pytest.mark.parametrize(
    "values",
    [{"whereabouts": ["player", "stock"]}, {"whereabouts": ["player"], "anchor": "last_look"}],
    ids=["in the room too", "a round of what is worn"],
)
def test_a_limit_of_worn_gear_that_the_gate_meets_is_taken(values: dict[str, Any]) -> None:
    assert add_rule(OrganisationFactory.create(), **values).whereabouts == values["whereabouts"]


def test_a_rule_for_a_model_of_another_kind_is_refused() -> None:
    item = ItemFactory.create()
    with pytest.raises(InvalidInputError):
        add_rule(item.organisation, model=item.model, kind="shoulder_pads")


def test_every_rule_that_was_added_is_in_the_ledger() -> None:
    organisation = OrganisationFactory.create()
    add_rule(organisation)

    assert LedgerEvent.objects.filter(organisation=organisation, action="rule_added").count() == 8
    assert LedgerEvent.objects.filter(organisation=organisation).latest("seq").at == AT


def test_a_rule_that_has_not_begun_can_be_withdrawn_and_never_applies() -> None:
    item = ItemFactory.create()
    begins = DAY + timedelta(days=30)
    rule = add_rule(item.organisation, in_force_from=begins)
    policy.end_rule(rule=rule, on=DAY, reason="A mistake.", stamp=stamp(item.organisation))

    assert not item.clocks.filter(rule=rule).exists()
    assert rule.in_force_to < begins
