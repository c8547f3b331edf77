"""The daily mail: one a person and day, many items of one cause as one line, silence where nothing is."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core import mail

from gearlife.domain.vocabulary import Role
from gearlife.models import Alert, Club, Item, OutboxMessage
from gearlife.operations import alerts, holds
from gearlife.operations.messages.digests import post_digests
from gearlife.operations.outbox import drain
from gearlife.operations.sweep import sweep
from tests.factories import DAY, ClubFactory, ItemFactory, person, put_on, stamp

pytestmark = pytest.mark.django_db

# Wednesday, 7 in the morning in Chicago (UTC-5 until November); 2026-10-19 is a Monday.
MORNING = datetime(2026, 10, 14, 12, 0, tzinfo=UTC)
MONDAY = MORNING + timedelta(days=5)


def club_with(*roles: Role) -> Club:
    club = ClubFactory.create(name="Otter Bend")
    for role in roles:
        user = person(role, at=club.organisation if role is Role.ADMINISTRATOR else club)
        user.username, user.email = role.value, f"{role.value}@otter-bend.example"
        user.save()
    return club


def held(club: Club, count: int = 1, reason: str = "shell: scratched") -> list[Item]:
    """Items in the room that are held: each wants a hand now."""
    first = ItemFactory.create(club=club)
    items = [first, *(ItemFactory.create(club=club, model=first.model) for _ in range(count - 1))]
    for item in items:
        holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(club.organisation))
    return items


def morning(at: datetime = MORNING) -> list[mail.EmailMessage]:
    """What goes out at a moment."""
    mail.outbox.clear()
    post_digests(at)
    drain(at + timedelta(seconds=1))
    return [each for each in mail.outbox if each.subject.startswith("Gear of")]


def words(sent: mail.EmailMessage) -> str:
    return " ".join(str(sent.body).split())


def test_it_goes_out_at_seven_by_the_clock_of_the_club_and_once() -> None:
    held(club_with(Role.OFFICER))
    assert morning(MORNING - timedelta(seconds=5)) == []
    assert [each.to for each in morning()] == [["officer@otter-bend.example"]]
    assert morning(MORNING + timedelta(hours=5)) == []
    assert len(morning(MORNING + timedelta(days=1))) == 1


def test_each_club_has_its_own_morning() -> None:
    club = club_with(Role.OFFICER)
    held(club)
    Club.objects.filter(id=club.id).update(timezone="America/Los_Angeles")

    assert morning(MORNING + timedelta(minutes=119)) == []
    assert len(morning(MORNING + timedelta(minutes=120))) == 1


def test_many_items_of_one_cause_are_one_line_with_a_count() -> None:
    club = club_with(Role.OFFICER)
    items = held(club, 12)
    [sent] = morning()

    assert f"- 12 helmets ({items[0].model.name}): Held since 2026-10-14: shell: scratched" in words(sent)
    assert str(sent.body).count("scratched") == 1


def test_a_single_item_is_named() -> None:
    [item] = held(club_with(Role.OFFICER))
    [sent] = morning()

    assert f"- {item.serial} ({item.model.name}): Held since 2026-10-14: shell: scratched" in words(sent)


def test_what_must_not_be_worn_stands_first_and_in_the_subject() -> None:
    club = club_with(Role.OFFICER)
    [item] = held(club)
    put_on(item)
    held(club, reason="a loose clip")
    [sent] = morning()

    assert sent.subject == "Gear of 2026-10-14: 1 must not be worn"
    body = str(sent.body)
    assert body.index("MUST NOT BE WORN\n") < body.index("To be dealt with now")


def test_what_falls_within_a_week_is_told_and_what_falls_later_is_counted() -> None:
    club = club_with(Role.OFFICER)
    held(club)
    for days in (6, 30):
        row = ItemFactory.create(club=club)
        Alert.objects.create(
            organisation=club.organisation,
            club=club,
            item=row,
            key=f"x:{row.id}",
            kind="certification",
            advice="recondition",
            severity="plan",
            stage="ahead",
            falls_on=DAY + timedelta(days=days),
            because=f"It lapses in {days} days.",
            opened_at=MORNING,
        )
    [sent] = morning()

    assert "Falls within a week\n" in str(sent.body)
    assert "It lapses in 6 days." in words(sent)
    assert "lapses in 30 days" not in words(sent)
    assert "1 more fall later than in a week" in words(sent)


def test_what_was_put_off_says_until_when_and_why_and_comes_back_on_its_day() -> None:
    club = club_with(Role.OFFICER)
    [item] = held(club)
    alert, until = Alert.objects.get(item=item), DAY + timedelta(days=2)
    alerts.put_off(alert=alert, until=until, reason="parts are on order", stamp=stamp(club.organisation))
    [first] = morning()
    [later] = morning(MORNING + timedelta(days=2))

    assert "Put off\n" in str(first.body)
    assert "Put off to 2026-10-16: parts are on order" in words(first)
    assert "To be dealt with now\n" in str(later.body)


def test_the_age_of_the_last_sweep_and_the_cautions_stand_in_every_one() -> None:
    club = club_with(Role.OFFICER)
    held(club)
    sweep(organisation=club.organisation, at=MORNING - timedelta(hours=3))
    [sent] = morning()

    assert "The last complete sweep of the records ended 3.0 hours ago." in words(sent)
    assert "certifies nothing and declares nothing safe" in words(sent)


def test_a_day_without_anything_is_a_day_without_mail() -> None:
    club = club_with(Role.OFFICER)
    sweep(organisation=club.organisation, at=MORNING - timedelta(hours=3))

    assert morning() == []
    assert OutboxMessage.objects.get().outcome == "nothing_to_say"


def test_mondays_say_how_many_sweeps_were_complete_so_that_their_absence_is_noticed() -> None:
    club = club_with(Role.OFFICER)
    for days in range(8):
        sweep(organisation=club.organisation, at=MONDAY - timedelta(days=days, hours=2))
    [sent] = morning(MONDAY)

    assert "Nothing wants a hand this week." in words(sent)
    assert "7 of 7 sweeps completed" in words(sent)


def test_mondays_say_which_sweeps_were_not() -> None:
    club = club_with(Role.OFFICER)
    for days in (2, 3, 6):
        sweep(organisation=club.organisation, at=MONDAY - timedelta(days=days))
    [sent] = morning(MONDAY)

    assert "3 of 6 sweeps completed" in words(sent)  # the first was six days ago


def test_a_quiet_day_with_a_late_sweep_is_not_quiet() -> None:
    club = club_with(Role.OFFICER)
    sweep(organisation=club.organisation, at=MORNING - timedelta(hours=40))
    [sent] = morning()

    assert "40.0 hours ago: alerts may be missing" in words(sent)


def test_an_administrator_is_told_of_every_club_and_an_officer_of_the_own() -> None:
    club = club_with(Role.OFFICER, Role.ADMINISTRATOR, Role.AUDITOR)
    other = ClubFactory.create(organisation=club.organisation)
    held(club, reason="here")
    held(other, reason="there")
    told = {each.to[0].partition("@")[0]: words(each) for each in morning()}

    assert told.keys() == {"officer", "administrator"}
    assert ("here" in told["officer"], ": there" in told["officer"]) == (True, False)
    assert ": there" in told["administrator"]


def test_another_organisation_is_never_told_of() -> None:
    club_with(Role.ADMINISTRATOR)
    held(ClubFactory.create(), reason="foreign")
    sent = morning(MONDAY)

    assert not [each for each in sent if "foreign" in words(each)]


def test_one_that_could_not_go_out_on_its_day_leaves_it_to_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    held(club_with(Role.OFFICER))
    post_digests(MORNING)

    def away(*_: Any, **__: Any) -> int:
        raise ConnectionError("away")

    with monkeypatch.context() as broken:
        broken.setattr(mail.EmailMessage, "send", away)
        drain(MORNING + timedelta(seconds=1))
    drain(MORNING + timedelta(days=1))

    assert mail.outbox == []
    assert len(morning(MORNING + timedelta(days=1))) == 1


def test_a_time_zone_that_nobody_knows_keeps_nobody_from_the_mail() -> None:
    odd, club = club_with(Role.OFFICER), ClubFactory.create(name="Other")
    person(Role.OFFICER, at=club)
    Club.objects.filter(id=odd.id).update(timezone="Nowhere/At all")
    post_digests(MORNING)

    assert OutboxMessage.objects.filter(kind="digest").count() == 2


def test_the_number_of_queries_does_not_grow_with_alerts_or_people(django_assert_max_num_queries: Any) -> None:
    club = club_with(Role.OFFICER)
    held(club, 20)
    for _ in range(8):
        person(Role.OFFICER, at=club)
    with django_assert_max_num_queries(4):
        post_digests(MORNING)
