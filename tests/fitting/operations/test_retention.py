"""What is kept no longer goes, class by class, on its day and not a day before; and who must be left alone is."""

from datetime import date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from fitting.domain.counted_gear import CountedKind
from fitting.domain.retention import DEFAULTS, Kept, Period, Person, due_on
from fitting.domain.vocabulary import BodyChange
from fitting.models import Fit, Measurement, MeasurementRead, Player, PlayerChange, RetentionRule, RetentionRun
from fitting.operations import retention
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.operations.fits import report_change
from fitting.operations.measurements import note_reads
from fitting.operations.removing import remove_person
from fitting.operations.retention import due_of, retain_all, retain_for_the_day
from fitting.queries.retention import totals
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import HoldCause, Role
from gearlife.models import Club, Creation, Item, LedgerEvent
from gearlife.operations import holds
from tests.factories import AT, DAY, LAST_GAME, PlayerFactory, fitted, later, measured, person, put_on, stamp

pytestmark = pytest.mark.django_db

BORN = 2010
# A year after the last game of the season in which the player was measured.
MEASUREMENTS_GO = date(2027, 12, 5)
# Three years after the last use, on 14 October 2026; and the year in which who was born in 2010 turns 21.
THREE_YEARS, TURNS_21 = date(2029, 10, 14), date(2031, 1, 1)
EVE = timedelta(days=1)


def gone(club: Club, today: date) -> dict[str, int]:
    """What would go on that day."""
    return totals(due_of(club.organisation_id, at=AT, today=today))


def run(today: date, at: datetime = AT) -> RetentionRun:
    """The run of the day, of the one organisation that there is."""
    runs = retain_all(at=at, today=today)
    assert len(runs) == 1
    return runs[0]


@pytest.fixture
def used(player: Player) -> Player:
    """Somebody who was measured on the day of the tests, and whose id says that day."""
    Player.objects.filter(id=player.id).delete()
    made = PlayerFactory.create(club=player.club, team=player.team, birth_year=BORN, id=_id_of(AT))
    measured(made)
    return made


def _id_of(at: datetime) -> Any:
    """An id of version 7 that was made then."""
    now = uuid7().int
    return type(uuid7())(int=(int(at.timestamp() * 1000) << 80) | now & ((1 << 80) - 1))


class TestArithmetic:
    def test_a_season_that_runs_ends_first(self) -> None:
        period = Period(Kept.MEASUREMENTS, 12)
        season = Season(date(2026, 8, 15), LAST_GAME, 2026)
        assert due_on(period, Person(DAY, BORN, [season])) == MEASUREMENTS_GO
        assert due_on(period, Person(DAY, BORN)) == date(2027, 10, 14)

    def test_an_identity_is_kept_until_the_age_is_reached_and_for_its_months(self) -> None:
        period = Period(Kept.IDENTITY, 36, 21)
        assert due_on(period, Person(DAY, BORN)) == TURNS_21
        assert due_on(period, Person(DAY, 1990)) == THREE_YEARS
        assert due_on(period, Person(DAY, None)) == THREE_YEARS

    def test_every_class_has_a_default_with_its_source(self) -> None:
        assert {each.of for each in DEFAULTS} == set(Kept)
        assert all(each.source for each in DEFAULTS)


class TestTimeTravel:
    def test_measurements_go_a_year_after_the_last_season(self, club: Club, used: Player) -> None:
        run(MEASUREMENTS_GO - EVE)
        assert Measurement.objects.filter(player=used).count() == 1
        assert run(MEASUREMENTS_GO).measurements == 1
        assert not Measurement.objects.filter(player=used).exists()
        assert Player.objects.get(id=used.id).removed_at is None

    def test_details_of_fits_and_changes_go_and_the_fit_stays(self, used: Player, item: Item, now: Stamp) -> None:
        fitted(item, used, hairstyle="braids", pads_and_air="17")
        report_change(player=used, kind=BodyChange.HAIRCUT, on=None, stamp=now)
        run(MEASUREMENTS_GO - EVE)
        assert Fit.objects.get(player=used).hairstyle == "braids"
        assert run(MEASUREMENTS_GO).fit_details == 2
        fit = Fit.objects.get(player=used)
        assert (fit.hairstyle, fit.pads_and_air, fit.accepted) == ("", "", True)
        assert not PlayerChange.objects.exists()

    def test_the_log_of_reads_goes_by_its_own_days(self, used: Player, now: Stamp) -> None:
        note_reads(player_ids=[used.id], why="a test", stamp=now)
        note_reads(player_ids=[used.id], why="a test", stamp=later(now, days=1))
        run(date(2028, 10, 14))
        assert MeasurementRead.objects.count() == 2
        assert run(date(2028, 10, 15)).access_log == 1
        assert MeasurementRead.objects.get().read_at == later(now, days=1).at

    def test_who_somebody_was_goes_when_both_times_have_passed(self, used: Player) -> None:
        assert run(TURNS_21 - EVE).identity == 0
        assert run(TURNS_21).identity == 1
        assert Player.objects.get(id=used.id).removed_at is not None

    def test_wearing_gear_begins_the_time_anew(self, club: Club, used: Player, item: Item) -> None:
        worn = put_on(item, used)
        worn.returned_at = AT + timedelta(days=5 * 365)
        worn.save()
        assert gone(club, TURNS_21)["identity"] == 0

    def test_giving_back_gear_by_number_begins_it_anew(self, club: Club, used: Player, now: Stamp) -> None:
        Player.objects.filter(id=used.id).update(birth_year=None)
        [line] = hand_out_counted(new=[NewCounted(used, CountedKind.PANTS)], stamp=now)
        take_back_counted(new=[NewReturn(line)], stamp=later(now, days=400))
        assert gone(club, THREE_YEARS)["identity"] == 0
        assert gone(club, THREE_YEARS + timedelta(days=400))["identity"] == 1

    def test_of_who_was_removed_nothing_is_kept(self, club: Club, used: Player) -> None:
        Player.objects.filter(id=used.id).update(removed_at=AT)
        assert gone(club, DAY)["measurements"] == 1


class TestLeftAlone:
    def test_who_has_gear_out(self, club: Club, used: Player, item: Item) -> None:
        put_on(item, used)
        done = run(TURNS_21)
        assert (done.identity, done.measurements, done.left_alone, done.complete) == (0, 0, 1, True)
        assert Measurement.objects.filter(player=used).exists()

    def test_whose_gear_is_held_after_an_incident(self, club: Club, used: Player, item: Item, now: Stamp) -> None:
        worn = put_on(item, used)
        named = person(Role.OFFICER, at=club)
        hold = holds.NewHold(item.id, "A blow.", cause=HoldCause.INCIDENT, named_person_id=named.id)
        holds.hold(new=hold, stamp=later(now, minutes=1))
        worn.returned_at = later(now, minutes=2).at
        worn.save()
        assert gone(club, TURNS_21) == {
            "measurements": 0,
            "fit_details": 0,
            "access_log": 0,
            "identity": 0,
            "left_alone": 1,
        }


class TestRuns:
    def test_a_dry_run_writes_nothing_and_says_what_the_run_does(self, club: Club, used: Player) -> None:
        before = gone(club, TURNS_21)
        assert Measurement.objects.count() == 1
        assert not RetentionRun.objects.exists()
        done = run(TURNS_21)
        assert (before["measurements"], before["identity"]) == (done.measurements, done.identity) == (1, 1)

    def test_twice_changes_nothing_more(self, used: Player) -> None:
        run(TURNS_21)
        again = run(TURNS_21)
        assert (again.measurements, again.identity, again.complete) == (0, 0, True)

    def test_once_a_day_whoever_asks(self, club: Club) -> None:
        assert len(retain_for_the_day(at=AT)) == 1
        assert retain_for_the_day(at=AT + timedelta(hours=2)) == []
        assert len(retain_for_the_day(at=AT + timedelta(days=1))) == 1

    def test_a_killed_run_is_begun_again_when_its_time_is_over(self, club: Club) -> None:
        RetentionRun.objects.create(organisation=club.organisation, day=DAY, started_at=AT)
        assert retain_for_the_day(at=AT + timedelta(minutes=14)) == []
        assert len(retain_for_the_day(at=AT + timedelta(minutes=16))) == 1

    def test_more_persons_than_one_run_takes_go_in_the_next(
        self, club: Club, used: Player, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        PlayerFactory.create(club=club, birth_year=BORN, id=_id_of(AT))
        monkeypatch.setattr(retention, "MOST_PERSONS", 1)
        first, second = run(TURNS_21), run(TURNS_21)
        assert [(each.identity, each.complete) for each in (first, second)] == [(1, False), (1, True)]

    def test_one_that_fails_keeps_no_other(self, club: Club, used: Player, monkeypatch: pytest.MonkeyPatch) -> None:
        other = PlayerFactory.create(club=club, birth_year=BORN, id=_id_of(AT + timedelta(hours=1)))
        real = remove_person

        def fails(*, player: Player, stamp: Stamp) -> object:
            if player.id == used.id:
                raise RuntimeError("as if")
            return real(player=player, stamp=stamp)

        monkeypatch.setattr(retention, "remove_person", fails)
        done = run(TURNS_21)
        assert (done.identity, done.failed, done.complete) == (1, 1, False)
        assert Player.objects.get(id=other.id).removed_at is not None

    def test_the_ledger_has_numbers_alone_and_the_digests_are_gone(self, used: Player, now: Stamp) -> None:
        id_ = Measurement.objects.get().id
        Creation.objects.create(
            id=id_, organisation=used.organisation, resource="measurements", digest="0" * 64, created_at=AT
        )
        run(MEASUREMENTS_GO)
        text = LedgerEvent.objects.get(action="retention").text
        assert '"number":1,"of":"measurements"' in text
        assert str(used.id) not in text
        assert Creation.objects.get(id=id_).digest == ""

    def test_portions_are_small(self, used: Player, now: Stamp, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(retention, "CHUNK", 2)
        for _ in range(5):
            note_reads(player_ids=[used.id], why="a test", stamp=now)
        assert run(date(2029, 1, 1)).access_log == 5
        assert LedgerEvent.objects.filter(action="retention", text__contains="access_log").count() == 3

    def test_a_shorter_rule_counts_at_once(self, club: Club, used: Player) -> None:
        rule = RetentionRule.objects.get(organisation=club.organisation, of=Kept.MEASUREMENTS.value)
        retention.change_rule(rule=rule, months=1, until_age=None, source="Our board.", stamp=stamp(club.organisation))
        assert gone(club, date(2027, 1, 5))["measurements"] == 1
        assert gone(club, date(2027, 1, 4))["measurements"] == 0

    @pytest.mark.parametrize("players", [3, 30])
    def test_asking_takes_as_many_queries_for_three_players_as_for_thirty(
        self, club: Club, players: int, django_assert_max_num_queries: Any
    ) -> None:
        for _ in range(players):
            measured(PlayerFactory.create(club=club, birth_year=BORN, id=_id_of(AT)))
        with django_assert_max_num_queries(18):
            assert gone(club, TURNS_21)["identity"] == players


class TestCommand:
    def test_a_dry_run_tells_numbers_by_club(self, club: Club, used: Player) -> None:
        said = StringIO()
        call_command("retention", "--dry-run", "--today", str(TURNS_21), stdout=said)
        assert (
            f"{club.organisation}, {club}: measurements 1, fit details 0, access log 0, identity 1" in said.getvalue()
        )
        assert used.family_name not in said.getvalue()
        assert Measurement.objects.exists()

    def test_it_takes_what_is_due(self, used: Player) -> None:
        said = StringIO()
        call_command("retention", "--today", str(TURNS_21), stdout=said)
        assert "measurements 1" in said.getvalue()
        assert not Measurement.objects.exists()

    def test_what_was_left_fails_it(self, club: Club, used: Player, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(retention, "MOST_PERSONS", 0)
        with pytest.raises(CommandError, match="run it again"):
            call_command("retention", "--today", str(TURNS_21), stdout=StringIO())
