"""Record a fitting, ask for it before the item is handed out, and hear of it when it has gone stale."""

from datetime import timedelta

import pytest

from fitting.domain.fit_gate import FIT_ACCEPTED, MISSING
from fitting.domain.fits import Try, every_check_passes
from fitting.domain.vocabulary import BodyChange, MeasurementKind, Protocol
from fitting.models import Fit, Player, PlayerChange
from fitting.operations.assignments import NewAssignment, issue, return_item
from fitting.operations.fits import NewFit, record_fit, report_change
from fitting.operations.measurements import NewMeasurement, record_measurement
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import CertificationKind, Counts, Effect, Kind, Role
from gearlife.models import Alert, Club, Item, LedgerEvent, PolicyRule
from gearlife.operations import policy
from gearlife.operations.certifications import NewCertification, certify
from gearlife.operations.sweep import sweep
from tests.factories import (
    AT,
    DAY,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    device,
    fitted,
    later,
    pads,
    person,
    put_on,
)
from tests.factories import stamp as stamp_of

pytestmark = pytest.mark.django_db
PASSES = Try(every_check_passes(Kind.HELMET))


@pytest.fixture
def strict(club: Club) -> PolicyRule:
    """One override: without a current accepted fit nothing is handed out."""
    rule = PolicyRule.objects.get(organisation=club.organisation, code=FIT_ACCEPTED)
    changes = {"effect": Effect.NO_ISSUE.value, "in_force_from": DAY}
    return policy.override_rule(rule=rule, changes=changes, reason="a test", stamp=stamp_of(club.organisation))


def refused(item: Item, player: Player, now: Stamp) -> str:
    with pytest.raises(ConflictError) as caught:
        issue(new=NewAssignment(item.id, player), stamp=now)
    return " ".join(fault.detail for fault in caught.value.faults if fault.code == FIT_ACCEPTED)


def alert_of(item: Item) -> Alert | None:
    return Alert.objects.open().filter(item=item, kind="fit_stale").first()


def test_a_fitting_names_its_fitter_its_checks_and_moves_the_items_refit_anchor(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    fit = record_fit(new=NewFit(item.id, player, [PASSES], hairstyle="braids"), stamp=now)
    item.refresh_from_db()

    assert (fit.accepted, fit.fitted_by_id, fit.size, item.last_refit_at) == (True, now.actor.user_id, "M", now.at)
    assert fit.tries == [{"results": dict(PASSES.results), "remedies": []}]


def test_the_ledger_knows_ids_alone_of_a_fitting(item: Item, player: Player, now: Stamp) -> None:
    record_fit(new=NewFit(item.id, player, [PASSES], hairstyle="braids", pads_and_air="two fingers of air"), stamp=now)
    text = LedgerEvent.objects.filter(action="fitted").get().text

    assert str(player.id) in text
    assert not any(personal in text for personal in ("braids", "two fingers", player.family_name))


def test_one_that_was_not_accepted_moves_nothing(item: Item, player: Player, now: Stamp) -> None:
    record_fit(new=NewFit(item.id, player, [Try({"no_twist": False})]), stamp=now)
    item.refresh_from_db()

    assert item.last_refit_at is None


def test_what_does_not_agree_is_refused_with_every_fault(item: Item, player: Player, now: Stamp) -> None:
    other = PlayerFactory.create(club=ClubFactory.create(organisation=player.organisation))
    theirs = record_measurement(
        new=NewMeasurement(player, MeasurementKind.HEAD_CIRCUMFERENCE, [560], taken_on=DAY), stamp=now
    )
    with pytest.raises(InvalidInputError) as caught:
        record_fit(new=NewFit(item.id, other, [Try({"chin_cup": True})], accepted=True, measurement=theirs), stamp=now)

    assert {f.pointer for f in caught.value.faults} == {"/accepted", "/item", "/measurement"}
    assert not Fit.objects.exists()


def test_a_device_names_the_person_who_fitted_and_that_is_an_officer_of_the_club(
    club: Club, item: Item, player: Player
) -> None:
    by_device = stamp_of(device(club))
    coach = person(Role.OFFICER, at=ClubFactory.create(organisation=club.organisation))
    for named, code in ((None, "unnamed_fitter"), (coach, "unknown_fitter")):
        with pytest.raises(InvalidInputError) as caught:
            record_fit(new=NewFit(item.id, player, [PASSES], fitted_by=named), stamp=by_device)
        assert caught.value.code == code
    officer = person(Role.OFFICER, at=club)

    assert record_fit(new=NewFit(item.id, player, [PASSES], fitted_by=officer), stamp=by_device).fitted_by == officer


def test_without_a_fit_it_is_handed_out_with_a_warning_that_the_assignment_keeps(
    item: Item, player: Player, now: Stamp
) -> None:
    given = issue(new=NewAssignment(item.id, player), stamp=now)

    assert given.warnings == [{"code": FIT_ACCEPTED, "detail": MISSING}]


def test_an_organisation_without_the_rule_warns_as_well(club: Club, item: Item, player: Player, now: Stamp) -> None:
    PolicyRule.objects.filter(code=FIT_ACCEPTED).delete()

    assert issue(new=NewAssignment(item.id, player), stamp=now).warnings[0]["code"] == FIT_ACCEPTED


def test_with_an_accepted_fit_nothing_is_said(item: Item, player: Player, now: Stamp) -> None:
    fitted(item, player)

    assert issue(new=NewAssignment(item.id, player), stamp=now).warnings == []


@pytest.mark.usefixtures("strict")
def test_by_override_nothing_goes_out_without_a_fit_of_this_item_on_this_player(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    assert refused(item, player, now) == MISSING
    fitted(item, PlayerFactory.create(club=club))
    fitted(ItemFactory.create(club=club), player)
    assert refused(item, player, now) == MISSING
    fitted(item, player, failing=["sight"])
    assert "not every check passed" in refused(item, player, now)
    fitted(item, player)

    assert issue(new=NewAssignment(item.id, player), stamp=now).warnings == []


@pytest.mark.usefixtures("strict")
def test_the_fit_may_be_recorded_in_the_very_act_and_is_not_kept_when_that_is_refused(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    fit = NewFit(item.id, player, [PASSES])
    stopped = ItemFactory.create(club=club, made_on="")
    with pytest.raises(ConflictError):
        issue(new=NewAssignment(stopped.id, player, fit=NewFit(stopped.id, player, [PASSES])), stamp=now)
    assert not Fit.objects.exists()
    given = issue(new=NewAssignment(item.id, player, fit=fit), stamp=now)

    assert (given.warnings, Fit.objects.get().accepted) == ([], True)
    actions = list(LedgerEvent.objects.filter(item_id=item.id).order_by("seq").values_list("action", flat=True))
    assert actions[-2:] == ["fitted", "issued"]


@pytest.mark.usefixtures("strict")
def test_it_is_fitted_anew_when_another_player_had_it_since(club: Club, item: Item, player: Player, now: Stamp) -> None:
    fitted(item, player, at=AT - timedelta(days=2))
    other = PlayerFactory.create(club=club)
    lent = issue(new=NewAssignment(item.id, other, fit=NewFit(item.id, other, [PASSES])), stamp=now)
    back = return_item(assignment=lent, at=None, condition="", stamp=later(now, hours=1))
    Item.objects.filter(id=back.item_id).update(last_full_inspection_at=now.at + timedelta(hours=2))

    assert "another player" in refused(item, player, later(now, hours=3))


@pytest.mark.usefixtures("strict")
def test_it_falls_due_by_the_rules_rhythm(club: Club, item: Item, player: Player, now: Stamp) -> None:
    rule = PolicyRule.objects.get(code=FIT_ACCEPTED, effect=Effect.NO_ISSUE.value)
    PolicyRule.objects.filter(id=rule.id).update(counts=Counts.DAYS.value, amount=10)
    fitted(item, player, at=AT - timedelta(days=10))
    assert "due again" in refused(item, player, now)
    fitted(item, player, at=AT - timedelta(days=9))

    assert issue(new=NewAssignment(item.id, player), stamp=now).warnings == []


def test_a_reported_haircut_asks_for_a_refit_of_the_helmet_until_it_is_fitted_anew(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    fitted(item, player, at=AT - timedelta(days=2))
    put_on(item, player, at=AT - timedelta(days=1))
    set_ = pads(club)
    fitted(set_, player, at=AT - timedelta(days=2))
    put_on(set_, player, at=AT - timedelta(days=1))
    report_change(player=player, kind=BodyChange.HAIRCUT, on=None, stamp=now)
    alert = alert_of(item)

    assert alert
    assert (alert.advice, alert.player_id) == ("refit", player.id)
    assert alert_of(set_) is None
    fitted(item, player, at=later(now, hours=1).at)
    assert alert_of(item) is None


def test_a_change_reported_twice_is_noted_once_and_the_ledger_does_not_say_which(player: Player, now: Stamp) -> None:
    for _ in range(2):
        report_change(player=player, kind=BodyChange.WEIGHT, on=DAY, stamp=now)
    text = LedgerEvent.objects.filter(action="player_changed").get().text

    assert PlayerChange.objects.count() == 1
    assert "weight" not in text
    with pytest.raises(InvalidInputError):
        report_change(player=player, kind=BodyChange.WEIGHT, on=DAY + timedelta(days=1), stamp=now)


def test_growth_and_reconditioning_ask_for_a_refit_and_no_alert_says_what_was_measured(
    club: Club, item: Item, player: Player, now: Stamp
) -> None:
    head = MeasurementKind.HEAD_CIRCUMFERENCE
    before = stamp_of(now.actor, AT - timedelta(days=20))
    then = NewMeasurement(player, head, [551, 553], Protocol.BROWS_AND_EARS, taken_on=before.day)
    record_measurement(new=then, stamp=before)
    fitted(item, player, at=AT - timedelta(days=10))
    put_on(item, player, at=AT - timedelta(days=9))
    record_measurement(new=NewMeasurement(player, head, [561, 563], Protocol.BROWS_AND_EARS, taken_on=DAY), stamp=now)
    alert = alert_of(item)

    assert alert
    assert "measured anew" in alert.because
    assert not any(value in alert.because for value in ("551", "552", "553", "561", "562", "563"))
    certify(item=item, new=NewCertification(kind=CertificationKind.RECONDITIONING, certified_on=DAY), stamp=now)
    assert "reconditioned" in str(alert_of(item) and alert_of(item).because)  # type: ignore[union-attr]


def test_a_fit_that_failed_on_whoever_wears_it_asks_for_another(item: Item, player: Player, now: Stamp) -> None:
    put_on(item, player, at=AT - timedelta(days=1))
    fitted(item, player, failing=["chin_cup"])
    alert = alert_of(item)

    assert alert
    assert "not every check passed" in alert.because


def test_a_sweep_of_the_same_day_finds_nothing_that_the_acts_had_not(item: Item, player: Player, now: Stamp) -> None:
    fitted(item, player, at=AT - timedelta(days=2))
    put_on(item, player, at=AT - timedelta(days=1))
    report_change(player=player, kind=BodyChange.HAIRCUT, on=None, stamp=now)
    run = sweep(organisation=item.organisation, at=AT)

    assert (run.complete, run.unforeseen) == (True, 0)
