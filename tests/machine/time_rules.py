"""Rules: days pass, seasons are entered and end, sweeps run or do not, messages are lost, sent again, or doubled."""

from datetime import date, timedelta
from uuid import UUID

from django.core import mail
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from gearlife.domain.access import Stamp
from gearlife.domain.errors import GearlifeError
from gearlife.models import Season
from gearlife.operations import organisations, waiting
from gearlife.operations.sweep import sweep
from tests.machine.ground import OF_ASKING, Ground, assert_same, records_of
from tests.machine.picks import BY, WALK


class TimeRules(Ground):
    """What changes without anybody touching the gear."""

    @rule(days=WALK)
    def advance(self, days: int) -> None:
        """Time never writes. What is sent again is sent again the same day: an act by state may begin with its day."""
        self.at += timedelta(days=days)
        self.last = self.last if days == 0 else None

    @rule(times=st.integers(0, 3))
    def sweep(self, times: int) -> None:
        """The first sweep brings the alerts into line, those after it change nothing."""
        self.at += timedelta(minutes=1)
        for number in range(times):
            run = sweep(organisation=self.league.own, at=self.at)
            assert run.complete, run.faults
            if number:
                assert_same(self.records, records_of(self.league.own), but=OF_ASKING)
            self.note(of_all=True, in_ledger=False)
            self.may_wait = False

    @rule()
    def wake(self) -> None:
        """A wake-up comes twice: what waited is done, and done once. Of others' rows only their messages move."""
        assert waiting.do_what_waits(self.at) == []
        self.note(in_ledger=False)
        self.may_wait = False
        assert_same(self.foreign, records_of(self.league.foreign), but=frozenset({"gearlife_outboxmessage"}))
        self.foreign = records_of(self.league.foreign)
        sent = [message.extra_headers["Message-ID"] for message in mail.outbox]
        assert len(set(sent)) == len(sent)
        assert waiting.do_what_waits(self.at) == []
        assert_same(self.records, records_of(self.league.own))
        assert len(mail.outbox) == len(sent)

    @precondition(lambda self: self.last is not None)
    @rule()
    def send_the_last_again(self) -> None:
        """Its answer was lost: who sent an act by state sends it as it was, and it is so already."""
        assert self.last
        self.send_again(*self.last)

    @precondition(lambda self: bool(self.sent))
    @rule(which=st.integers(0, 30), by=BY)
    def send_something_again(self, which: int, by: int) -> None:
        """What was created under an id of the client's comes once more, however late."""
        self.send_again(self.sent[-1 - which % len(self.sent)], self.league.people[by % 2])

    @rule(club=st.integers(0, 1), ahead=st.integers(0, 1), by=BY)
    def enter_season(self, club: int, ahead: int, by: int) -> None:
        year = self.day.year + ahead
        starts_on, ends_on = date(year, 8, 15), date(year, 12, 5)
        entered = self.world.seasons[self.league.clubs[club].id]

        def make(id_: UUID, stamp: Stamp) -> object:
            place = self.league.clubs[club]
            return organisations.add_season(
                stamp=stamp, club=place, year=year, starts_on=starts_on, ends_on=ends_on, id=id_
            )

        assert (self.create(make, by) is None) == (year in entered)
        entered.setdefault(year, (starts_on, ends_on))

    @rule(club=st.integers(0, 1), days=st.sampled_from([-60, -7, 7, 30, None]), by=BY)
    def change_season(self, club: int, days: int | None, by: int) -> None:
        """The last game is another, or the season was entered by mistake."""
        entered = self.world.seasons[self.league.clubs[club].id]
        if not entered:
            return
        year = max(entered)
        season = Season.objects.get(club=self.league.clubs[club], year=year)
        if days is None:
            self.act(lambda stamp: organisations.remove_season(season=season, stamp=stamp), by)
            del entered[year]
            self.last = None
            return
        starts_on, ends_on = entered[year]
        changes = {"ends_on": ends_on + timedelta(days=days)}
        answer = self.act(lambda stamp: organisations.change_season(season=season, changes=changes, stamp=stamp), by)
        assert isinstance(answer, GearlifeError) == (changes["ends_on"] < starts_on)
        if not isinstance(answer, GearlifeError):
            entered[year] = (starts_on, changes["ends_on"])
            self.last = None
