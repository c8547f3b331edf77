"""An item's life as the three packages tell it: every recorded fact once, names only to who may see the player."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.life import Life, SpanKind
from gearlife.domain.vocabulary import CertificationKind, ReleaseBasis, Role
from gearlife.models import Club, Item, Team
from gearlife.operations import certifications, holds, items
from gearlife.operations.certifications import NewCertification
from gearlife.operations.holds import NewHold
from gearlife.queries.life import life_of
from gearlife.queries.recorded import read
from tests import factories
from tests.factories import AT, DAY
from tests.inspections.operations.inspecting import CRACK, inspect

pytestmark = pytest.mark.django_db


@pytest.fixture
def now(club: Club) -> Stamp:
    return factories.stamp(factories.officer(club))


def life(item: Item, actor: Actor, day: date = DAY) -> Life:
    return life_of(Item.objects.get(id=item.id), read([item.id], day), actor, day)


def marks(item: Item, now: Stamp) -> list[tuple[date, str]]:
    return [(mark.day, mark.label) for mark in life(item, now.actor).marks]


def test_looks_with_nothing_found_are_counted_and_what_was_found_is_named(item: Item, now: Stamp) -> None:
    inspect(item, now, inspected_at=AT - timedelta(days=7))
    inspect(item, now, CRACK)
    look, found, taken_in = life(item, now.actor).marks
    assert (look.day, look.counted) == (DAY - timedelta(days=7), "looks")
    assert taken_in.label == "taken in"
    assert (found.label, found.words, found.counted) == ("shell: crack", "Looked over: shell: crack (stop).", "")


def test_a_hold_is_a_span_that_ends_with_its_release(item: Item, now: Stamp) -> None:
    hold, _ = holds.hold(new=NewHold(item.id, "loose rivet"), stamp=now)
    [open_span] = life(item, now.actor).spans
    assert (open_span.kind, open_span.starts_on, open_span.ends_on) == (SpanKind.HELD, DAY, None)
    later = factories.later(now, days=3)
    holds.release(hold=hold, reason="rivet replaced", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=later)
    [span] = life(item, now.actor, DAY + timedelta(days=3)).spans
    assert span.ends_on == DAY + timedelta(days=3)
    assert span.words == "Held: loose rivet. Ended (dealt with): rivet replaced"


def test_certifications_stand_on_the_day_from_which_they_count(item: Item, now: Stamp) -> None:
    new = NewCertification(CertificationKind.RECERTIFICATION, certified_on=date(2026, 5, 4), firm="Brook Works")
    certifications.certify(item=item, new=new, stamp=now)
    assert (date(2026, 5, 4), "recertified") in marks(item, now)
    assert "Recertified by Brook Works." in [mark.words for mark in life(item, now.actor).marks]


def test_a_retired_item_ends_with_its_retirement(item: Item, now: Stamp) -> None:
    items.retire(item=item, reason="cracked through", on=None, stamp=now)
    told = life(item, now.actor)
    assert (told.retired_on, told.ends_on, told.posts) == (DAY, DAY, ())
    assert (DAY, "retired") in marks(item, now)


def test_every_limit_is_a_post_with_its_rule_and_source(item: Item, now: Stamp) -> None:
    posts = {post.label: post for post in life(item, now.actor).posts}
    # Made in March 2026 by a maker who states 24 months; sixteen years by the strictest law known.
    assert posts["certification"].falls_on == date(2028, 3, 1)
    assert posts["age limit"].falls_on == date(2042, 3, 1)
    assert all(post.source and post.read for post in posts.values())
    assert life(item, now.actor).ends_on == date(2028, 3, 1)


def test_who_wore_it_is_named_only_to_who_may_see_the_player(item: Item, club: Club, team: Team, now: Stamp) -> None:
    other = factories.TeamFactory.create(club=club)
    player = factories.PlayerFactory.create(club=club, team=team, jersey_number=12)
    factories.put_on(item, player)
    Item.objects.filter(id=item.id).update(team=other)
    [span] = life(item, now.actor).spans
    assert (span.kind, span.starts_on, span.label) == (SpanKind.WORN, DAY, player.label)
    [unnamed] = life(item, factories.actor(Role.COACH, at=other)).spans
    assert (unnamed.label, unnamed.words) == ("a player", "Worn by a player.")
    assert player.family_name not in str(life(item, factories.actor(Role.COACH, at=other)))


def test_a_life_of_many_events_takes_as_many_queries_as_one_of_few(item: Item, now: Stamp) -> None:
    def asked() -> int:
        row = Item.objects.get(id=item.id)
        with CaptureQueriesContext(connection) as queries:
            life_of(row, read([item.id], DAY), now.actor, DAY)
        return len(queries)

    few = asked()
    for number in range(20):
        inspect(item, now, *([CRACK] if number % 4 == 0 else []), inspected_at=AT - timedelta(days=number))
    assert asked() == few <= 14
