"""Stop messages: who is told at once, who when nobody takes notice, and what a mail says and does not say."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core import mail

from gearlife.domain.vocabulary import ReleaseBasis, Role
from gearlife.models import Alert, Club, Item, OutboxMessage, Team
from gearlife.operations import alerts, holds
from gearlife.operations.outbox import drain
from gearlife.operations.sweep import sweep
from tests.factories import (
    AT,
    ClubFactory,
    ItemFactory,
    PlayerFactory,
    TeamFactory,
    later,
    officer,
    person,
    put_on,
    stamp,
)

pytestmark = pytest.mark.django_db


def club_with(*roles: Role) -> Club:
    """A club with a person in each of these roles, named by it, whom mail reaches."""
    club = ClubFactory.create(name="Otter Bend")
    for role in roles:
        user = person(role, at=club.organisation if role is Role.ADMINISTRATOR else club)
        user.username, user.email = role.value, f"{role.value}@otter-bend.example"
        user.save()
    return club


def stop_worn(club: Club, reason: str = "shell: crack (stop)", number: int | None = 89) -> Item:
    """Something that a player wears is held."""
    team = Team.objects.filter(club=club).first() or TeamFactory.create(club=club, name="Varsity")
    item = ItemFactory.create(club=club, team=team)
    put_on(item, PlayerFactory.create(club=club, jersey_number=number, given_name="Ada", family_name="Ander"))
    holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(club.organisation))
    return item


def after(**span: float) -> datetime:
    return AT + timedelta(**span)


def told() -> list[str]:
    """Whom mails went to, in order."""
    return [each.to[0].partition("@")[0] for each in mail.outbox]


def body() -> str:
    return str(mail.outbox[0].body)


def test_what_becomes_stop_is_told_to_every_officer_of_the_club_at_once() -> None:
    club = club_with(Role.OFFICER, Role.ADMINISTRATOR, Role.AUDITOR)
    other = club_with(Role.DAMAGE_REPORTER)
    put_on(ItemFactory.create(club=other, made_on="2026"))
    stop_worn(club)
    drain(after(seconds=1))

    assert told() == ["officer"]
    assert mail.outbox[0].subject == "STOP: 1 helmet must not be worn (Otter Bend)"


def test_a_hold_on_what_nobody_wears_is_no_stop_and_sends_nothing() -> None:
    club = club_with(Role.OFFICER)
    holds.hold(new=holds.NewHold(ItemFactory.create(club=club).id, "crack"), stamp=stamp(club.organisation))

    assert not OutboxMessage.objects.exists()


def test_a_mail_names_item_number_and_team_and_no_players_name() -> None:
    club = club_with(Role.OFFICER)
    item = stop_worn(club)
    drain(after(seconds=1))

    words = " ".join(body().split())
    assert f"1 helmet: {item.serial} ({item.model.name} M), worn by No. 89, Varsity" in words
    assert "shell: crack (stop)" in words
    assert "No sweep of the records was ever complete" in words
    assert "certifies nothing" in words
    assert not [name for name in ("Ada", "Ander") if name in mail.outbox[0].message().as_string()]


def test_the_row_holds_ids_alone() -> None:
    club = club_with(Role.OFFICER)
    stop_worn(club)

    [watch] = OutboxMessage.objects.filter(kind="watch")
    [alert] = Alert.objects.filter(kind="worn_stopped")
    assert watch.payload == {"club": str(club.id), "alerts": [str(alert.id)]}
    assert OutboxMessage.objects.get(kind="stop").payload == {}


def test_one_act_that_stops_many_is_one_mail_with_a_count() -> None:
    club = club_with(Role.OFFICER)
    own = stamp(club.organisation)
    with alerts.at_the_end(own):
        for _ in range(12):
            item = ItemFactory.create(club=club)
            put_on(item)
            holds.hold(new=holds.NewHold(item.id, "notice 7"), stamp=own)
    drain(after(seconds=1))

    assert [each.subject for each in mail.outbox] == ["STOP: 12 helmets must not be worn (Otter Bend)"]
    assert body().count("notice 7") == 1
    assert "12 helmets: " in body()


def test_what_the_same_act_stops_in_two_steps_is_one_mail() -> None:
    club = club_with(Role.OFFICER)
    stop_worn(club)
    stop_worn(club)
    drain(after(seconds=1))

    assert [each.subject for each in mail.outbox] == ["STOP: 2 helmets must not be worn (Otter Bend)"]


def test_an_item_with_two_things_against_it_counts_once() -> None:
    club = club_with(Role.OFFICER)
    put_on(ItemFactory.create(club=club, made_on=""))
    assert Alert.objects.filter(severity="stop").count() == 2
    drain(after(seconds=1))

    assert "1 helmet must" in mail.outbox[0].subject
    assert "must not wear it" in body()
    assert "could not have been issued" in " ".join(body().split())


def test_what_is_stopped_when_the_mail_is_on_its_way_is_a_mail_of_its_own() -> None:
    club = club_with(Role.OFFICER)
    stop_worn(club)
    drain(after(seconds=1))
    stop_worn(club)
    drain(after(seconds=2))

    assert [each.subject[:14] for each in mail.outbox] == ["STOP: 1 helmet"] * 2


def test_nobody_is_told_twice_by_sweeps_and_acts_that_find_the_same() -> None:
    club = club_with(Role.OFFICER)
    item = stop_worn(club)
    for hours in (1, 2, 3):
        sweep(organisation=club.organisation, at=after(seconds=hours))
        holds.hold(new=holds.NewHold(item.id, "again"), stamp=later(stamp(club.organisation), seconds=hours))
        drain(after(seconds=hours + 1))

    assert told() == ["officer"]


def test_a_cause_that_is_gone_before_the_mail_goes_out_is_not_told() -> None:
    club = club_with(Role.OFFICER)
    item = stop_worn(club)
    holds.release(
        hold=item.holds.get(), reason="no", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=stamp(officer(club))
    )
    drain(after(hours=2))

    assert mail.outbox == []
    assert set(OutboxMessage.objects.values_list("kind", "outcome")) == {
        ("stop", "nothing_to_say"),
        ("watch", "nothing_to_say"),
    }


# Others are told


def test_what_nobody_takes_notice_of_goes_to_the_administrators_after_an_hour() -> None:
    stop_worn(club_with(Role.OFFICER, Role.ADMINISTRATOR))
    for moment in (after(minutes=59), after(minutes=61), after(hours=5), after(days=3)):
        drain(moment)

    assert told() == ["officer", "administrator"]
    assert "Nobody at the club has taken notice" in str(mail.outbox[1].body)


def test_what_somebody_took_notice_of_goes_no_further() -> None:
    club = club_with(Role.OFFICER, Role.ADMINISTRATOR)
    stop_worn(club)
    drain(after(seconds=1))
    alert = Alert.objects.get(kind="worn_stopped")
    alerts.acknowledge(alert=alert, note="", told_whom="a parent", told_at=None, stamp=stamp(officer(club)))
    drain(after(hours=2))

    assert told() == ["officer"]


def test_a_club_without_officers_has_the_administrators_told_at_once() -> None:
    stop_worn(club_with(Role.ADMINISTRATOR))
    drain(after(seconds=1))

    assert told() == ["administrator"]


def test_where_mail_reaches_nobody_it_waits_until_it_does(settings: Any) -> None:
    settings.MAIL_DOMAIN_OF_NAMES = ""
    club = club_with()
    administrator = person(Role.ADMINISTRATOR, at=club.organisation)
    stop_worn(club)
    for hours in range(48):
        drain(after(hours=hours))
    watch = OutboxMessage.objects.get()
    assert (watch.done_at, watch.dead_at) == (None, None)
    assert "mail reaches no administrator" in watch.last_error

    administrator.email = "late@otter-bend.example"
    administrator.save()
    drain(after(hours=49))
    assert told() == ["late"]


def test_an_officer_whom_mail_does_not_reach_is_passed_over(settings: Any) -> None:
    settings.MAIL_DOMAIN_OF_NAMES = ""
    club = club_with(Role.OFFICER)
    person(Role.OFFICER, at=club)
    stop_worn(club)
    drain(after(seconds=1))

    assert told() == ["officer"]


def test_devices_and_accounts_that_are_closed_get_no_mail() -> None:
    club = club_with(Role.OFFICER)
    person(Role.OFFICER, at=club, is_device=True)
    closed = person(Role.OFFICER, at=club)
    closed.is_active = False
    closed.save()
    stop_worn(club)
    drain(after(seconds=1))

    assert told() == ["officer"]


def refuse(monkeypatch: pytest.MonkeyPatch, who: str) -> None:
    """The server takes no mail for one person."""
    send = mail.EmailMessage.send

    def refusing(message: mail.EmailMessage, *args: Any, **kwargs: Any) -> int:
        if message.to[0].startswith(who):
            raise ConnectionError("550 no such mailbox")
        return send(message, *args, **kwargs)

    monkeypatch.setattr(mail.EmailMessage, "send", refusing)


def test_three_attempts_in_vain_tell_others_without_waiting_for_the_hour(monkeypatch: pytest.MonkeyPatch) -> None:
    stop_worn(club_with(Role.OFFICER, Role.ADMINISTRATOR))
    refuse(monkeypatch, "officer")
    for seconds in range(0, 240, 10):
        drain(after(seconds=seconds))

    assert told() == ["administrator"]


def test_a_stop_that_could_not_be_delivered_for_days_is_delivered_when_it_can(monkeypatch: pytest.MonkeyPatch) -> None:
    stop_worn(club_with(Role.OFFICER))
    with monkeypatch.context() as broken:
        refuse(broken, "officer")
        for hours in range(72):
            drain(after(hours=hours))
    assert told() == []
    drain(after(hours=73))

    assert told() == ["officer"]
