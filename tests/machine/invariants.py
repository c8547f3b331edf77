"""What holds after every step, whatever was done, in whatever order, with or without a sweep."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction
from hypothesis.stateful import invariant

from fitting.models import Assignment
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.vocabulary import Severity
from gearlife.models import Alert, Hold, Item, LedgerEvent, LedgerHead, OutboxMessage
from gearlife.operations import clocks
from gearlife.queries.concerns import ask
from gearlife.queries.gate import verdicts
from gearlife.queries.ledger import first_broken
from gearlife.queries.recorded import read, read_facts
from tests.machine.ground import Ground, Records, assert_same, records_of
from tests.machine.limits import Gear
from tests.machine.model import FORETOLD

OF_WORN = ("worn_stopped", "worn_not_issuable")
OF_ITEM = ("id", "whereabouts", "made_earliest", "certified_on", "last_look_at", "last_full_inspection_at")


class Invariants(Ground):
    """One question each."""

    checkpoint: tuple[int, str] = (0, "")
    waiting: frozenset[UUID] | set[UUID] = frozenset()
    asked_of: tuple[Records, date, str] | None = None

    @invariant()
    def all_of_it_holds(self) -> None:
        """One step of the report, and not ten; asked again only where something has changed since."""
        now = (self.records, self.day, repr(self.world))
        if now == self.asked_of:
            return
        self.asked_of = now
        self.nothing_of_another_organisation_changes()
        self.items_are_where_and_what_the_acts_say()
        self.assignments_are_those_that_were_made_and_no_item_or_player_has_two()
        self.holds_end_by_the_acts_that_name_them_and_by_no_other()
        self.only_what_a_change_of_limits_left_waits()
        self.the_gate_lets_out_what_nothing_speaks_against()
        self.what_is_worn_and_must_not_be_is_in_the_query_at_once()
        self.alerts_are_what_the_concerns_say_and_none_is_doubled()
        self.alerts_are_what_the_acts_make_one_expect()
        self.each_stop_is_told_once()
        self.clocks_are_up_to_date()
        self.the_ledger_is_whole_and_goes_on_from_where_it_was()

    def nothing_of_another_organisation_changes(self) -> None:
        assert_same(self.foreign, records_of(self.league.foreign))

    def items_are_where_and_what_the_acts_say(self) -> None:
        rows = Item.objects.filter(organisation=self.league.own).values_list(*OF_ITEM, "came_back_at", "retired_on")
        said = {row[0]: (*row[1:-1], row[-1] is not None) for row in rows}
        assert said == {
            gear.id: (gear.place, gear.made, gear.certified, gear.looked, gear.inspected, gear.back, gear.retired)
            for gear in self.world.gear.values()
        }

    def assignments_are_those_that_were_made_and_no_item_or_player_has_two(self) -> None:
        columns = ("item_id", "player_id", "loan", "recorded_as", "issued_at", "returned_at")
        rows = Assignment.objects.filter(organisation=self.league.own).values_list("id", *columns)
        assert {row[0]: row[1:] for row in rows} == {worn.id: worn.told for worn in self.world.worn}
        out = [worn for worn in self.world.worn if worn.until is None]
        assert len({worn.gear.id for worn in out}) == len(out)
        assert len({(worn.player, worn.gear.kind, worn.loan) for worn in out}) == len(out)

    def holds_end_by_the_acts_that_name_them_and_by_no_other(self) -> None:
        rows = Hold.objects.filter(organisation=self.league.own).values_list("id", "released_at")
        said = {id_ for id_, released_at in rows if released_at is None}
        assert said == {hold.id for gear in self.world.gear.values() for hold in gear.open_holds()}

    def the_gate_lets_out_what_nothing_speaks_against(self) -> None:
        verdict_of = verdicts(self.world.gear, self.day)
        said = {id_ for id_, verdict in verdict_of.items() if verdict.issuable}
        assert said == {
            gear.id
            for gear in self.world.gear.values()
            if gear.place == "stock" and not self.world.against(gear, self.day)
        }

    def only_what_a_change_of_limits_left_waits(self) -> None:
        rows = Item.objects.filter(organisation=self.league.own).with_stale_clocks()
        self.waiting = set(rows.values_list("id", flat=True))
        assert self.may_wait or not self.waiting

    def what_is_worn_and_must_not_be_is_in_the_query_at_once(self) -> None:
        hits = ask(read(self.world.gear, self.day), self.day, Reach.NOW).hits
        said = {(hit.item_id, hit.player_id) for hit in hits if hit.kind in OF_WORN}
        assert said == self.world.must_come_off(self.day)
        on_players = [gear for gear in self.world.gear.values() if gear.place == "player"]
        stopped = {gear.id for gear in on_players if self.world.stopped(gear, self.day)} - self.waiting
        rows = Item.objects.filter(organisation=self.league.own).worn_but_stopped(self.day).exclude(id__in=self.waiting)
        assert set(rows.values_list("id", flat=True)) == stopped

    def alerts_are_what_the_concerns_say_and_none_is_doubled(self) -> None:
        alerts = list(Alert.objects.open().filter(organisation=self.league.own))
        keys = [alert.key for alert in alerts]
        assert len(set(keys)) == len(keys)
        said = {
            alert.key: (alert.severity, alert.stage, alert.falls_on, alert.advice, alert.because, alert.player_id)
            for alert in alerts
            if alert.item_id and alert.item_id not in self.waiting
        }
        assert said == self._concerns()
        assert {alert.club_id for alert in alerts if not alert.item_id} == self._clubs_without_season()

    def alerts_are_what_the_acts_make_one_expect(self) -> None:
        alerts = Alert.objects.open().filter(organisation=self.league.own, kind__in=FORETOLD)
        due = alerts.exclude(severity=Severity.PLAN.value)
        for gear in self._settled():
            said = {(alert.kind, str(alert.severity)) for alert in due if alert.item_id == gear.id}
            assert said == self.world.foretold(gear, self.as_of[gear.id])

    def each_stop_is_told_once(self) -> None:
        watches = OutboxMessage.objects.filter(organisation=self.league.own, kind="watch")
        told = Counter(id_ for payload in watches.values_list("payload", flat=True) for id_ in payload["alerts"])
        stops = Alert.objects.open().filter(organisation=self.league.own, severity=Severity.STOP.value)
        # A milder report may be followed by a graver one: that is told again, in the alert that there is.
        for id_, kind in stops.values_list("id", "kind"):
            assert told[str(id_)] == 1 or (told[str(id_)] and kind == "damage_reported")

    def clocks_are_up_to_date(self) -> None:
        with transaction.atomic():
            late = clocks.recompute(read_facts(gear.id for gear in self._settled()))
            transaction.set_rollback(True)
        assert late == 0

    def the_ledger_is_whole_and_goes_on_from_where_it_was(self) -> None:
        assert first_broken(self.league.own.id) is None
        size, link = self.checkpoint
        events = LedgerEvent.objects.filter(organisation=self.league.own)
        assert not size or events.get(seq=size).link == link
        head = LedgerHead.objects.get(organisation=self.league.own)
        self.checkpoint = (head.size, head.link)

    def _settled(self) -> list[Gear]:
        """What does not wait for its clocks: its alerts are delivered."""
        return [gear for gear in self.world.gear.values() if gear.id not in self.waiting]

    def _concerns(self) -> dict[str, tuple[Any, ...]]:
        """What is to be announced about each item, as of the day and the moment of its last act or sweep."""
        asked = defaultdict(list)
        for gear in self._settled():
            asked[self.as_of[gear.id], self.asked_at[gear.id]].append(gear.id)
        answers = [
            (day, ask(replace(read(ids, day), asked_at=at), day, Reach.LEAD)) for (day, at), ids in asked.items()
        ]
        assert not any(answer.failed for _, answer in answers)
        return {hit.key: _told(hit, day) for day, answer in answers for hit in answer.hits if hit.item_id}

    def _clubs_without_season(self) -> set[Any]:
        clubs = {gear.club for gear in self.world.gear.values()}
        return {club for club in clubs if self.world.last_game(club, self.as_of[club]) is None}


def _told(hit: Hit, day: date) -> tuple[Any, ...]:
    return (hit.severity.value, hit.stage(day).value, hit.falls_on, hit.advice.value, hit.because, hit.player_id)
