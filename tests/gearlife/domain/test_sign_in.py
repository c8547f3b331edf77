"""Counting wrong passwords: whose count a try is in, and when the next one is taken."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from gearlife.domain.sign_in import (
    OF_AN_ACCOUNT,
    Limit,
    again_at,
    client_address,
    counters_of,
    network_of,
    span_in_words,
)
from gearlife.domain.word_pairs import SYLLABLES, word_pair

NOW = datetime(2026, 10, 14, 16, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def ago(*minutes: float) -> list[datetime]:
    return [NOW - MINUTE * each for each in minutes]


def keys(**facts: str | None) -> list[str]:
    usual: dict[str, str | None] = {"name": "jo", "address": "192.0.2.7", "browser": None}
    return [counter.key for counter in counters_of(**usual | facts)]  # type: ignore[arg-type] # None for browser alone


def test_a_known_browser_shares_its_count_with_nobody() -> None:
    assert keys(browser="b1") == ["browser:b1"]
    assert not set(keys(browser="b1")) & set(keys())


def test_strangers_share_the_accounts_count_however_the_name_is_typed() -> None:
    assert keys(name=" Jo ") == keys(name="jo") == ["account:JO", "network:192.0.2.7"]


def test_one_network_is_an_ipv4_address_or_a_block_of_64_bits() -> None:
    """RFC 6177: a site is given a /48 to /64, so single IPv6 addresses cost a stranger nothing."""
    assert network_of("2001:db8:1:2::1") == network_of("2001:db8:1:2:ffff::9") == "2001:db8:1:2::"
    assert network_of("2001:db8:1:3::1") != network_of("2001:db8:1:2::1")
    assert network_of("::ffff:192.0.2.7") == network_of("192.0.2.7") == "192.0.2.7"
    assert network_of("") == network_of("no address") == "unknown"


def test_a_limit_binds_until_one_of_its_failures_has_left_the_span() -> None:
    three = (Limit(3, 15 * MINUTE),)
    assert again_at(ago(1, 2), three, NOW) is None
    assert again_at(ago(1, 2, 14), three, NOW) == NOW + MINUTE
    assert again_at(ago(1, 2, 15), three, NOW) is None
    assert again_at(ago(14, 1, 2, 13), three, NOW) == NOW + 2 * MINUTE


def test_of_several_limits_the_longest_wait_counts() -> None:
    limits = (Limit(2, 10 * MINUTE), Limit(3, 60 * MINUTE))
    assert again_at(ago(1, 2, 30), limits, NOW) == NOW + 30 * MINUTE
    assert again_at(ago(1, 2), limits, NOW) == NOW + 8 * MINUTE


def test_however_a_stranger_goes_about_it_no_more_than_the_limits_come_through() -> None:
    """By a plain count over a drawn day of tries, every second to every other minute."""
    draw = random.Random(4)
    taken: list[datetime] = []
    at = NOW
    while at < NOW + timedelta(days=1):
        if again_at(taken, OF_AN_ACCOUNT, at) is None:
            taken.append(at)
        at += timedelta(seconds=draw.uniform(1, 120))
    for limit in OF_AN_ACCOUNT:
        most = max(sum(start <= other < start + limit.within for other in taken) for start in taken)
        assert most == limit.failures


@pytest.mark.parametrize(
    ("seconds", "says"),
    [
        (1, "1 minute"),
        (60, "1 minute"),
        (61, "2 minutes"),
        (5400, "90 minutes"),
        (5401, "2 hours"),
        (86400, "24 hours"),
    ],
)
def test_a_wait_is_never_told_shorter_than_it_is(seconds: int, says: str) -> None:
    assert span_in_words(timedelta(seconds=seconds)) == says


@pytest.mark.parametrize(
    ("forwarded", "proxies", "says"),
    [
        ("6.6.6.6", 0, "10.0.0.1"),
        ("6.6.6.6, 192.0.2.7", 1, "192.0.2.7"),
        ("6.6.6.6, 192.0.2.7, 10.0.0.9", 2, "192.0.2.7"),
        ("192.0.2.7", 2, "10.0.0.1"),
        ("", 1, "10.0.0.1"),
    ],
)
def test_only_what_trusted_proxies_wrote_is_believed(forwarded: str, proxies: int, says: str) -> None:
    assert client_address("10.0.0.1", forwarded, proxies) == says


def test_a_word_pair_is_long_enough_and_has_thirty_six_bits() -> None:
    pair = word_pair(random.Random(1).choice)
    assert (len(pair), pair.count("-"), pair) == (13, 1, pair.lower())
    assert len(set(SYLLABLES)) ** 6 > 2**36
