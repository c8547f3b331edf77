"""How many wrong passwords are borne, from whom, and until when. Moments are passed in.

A stranger must not be able to lock an officer out. So a browser that has signed in to an account before is known for
that account, and has a count of its own that nobody else can fill. Browsers that are not known share the count of the
account, and each network has one of its own for all accounts. (OWASP calls it device cookies.)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network

from gearlife.domain.normal_form import normal_form

MINUTES, DAY = timedelta(minutes=15), timedelta(days=1)
# After this no limit asks for a failure any more.
KEPT = DAY
LONGEST_PASSWORD = 512


@dataclass(frozen=True)
class Limit:
    """No more than so many failures within a span."""

    failures: int
    within: timedelta


@dataclass(frozen=True)
class Counter:
    """One count of failures: whose it is, and what it bears."""

    key: str
    limits: tuple[Limit, ...]


OF_ONE_BROWSER = (Limit(10, MINUTES), Limit(60, DAY))
OF_AN_ACCOUNT = (Limit(10, MINUTES), Limit(60, DAY))
# A club's whole equipment room may stand behind one address.
OF_A_NETWORK = (Limit(40, MINUTES), Limit(400, DAY))


def account_key(name: str) -> str:
    """The count that all browsers share which the account of this name does not know; of unknown names too."""
    return f"account:{normal_form(name)}"


def counters_of(*, name: str, address: str, browser: str | None) -> tuple[Counter, ...]:
    """The counts that a try belongs to.

    Args:
        name: the user name as typed.
        address: the network address that the try came from.
        browser: what a known browser is known by for this account; None for a stranger's.
    """
    if browser is not None:
        return (Counter(f"browser:{browser}", OF_ONE_BROWSER),)
    return Counter(account_key(name), OF_AN_ACCOUNT), Counter(f"network:{network_of(address)}", OF_A_NETWORK)


def again_at(failures: Sequence[datetime], limits: Sequence[Limit], now: datetime) -> datetime | None:
    """When the next try is taken, None for now: a limit binds until one of its failures has left the span."""
    moments = [moment for limit in limits if (moment := _again_at(failures, limit, now))]
    return max(moments, default=None)


def _again_at(failures: Sequence[datetime], limit: Limit, now: datetime) -> datetime | None:
    recent = sorted(moment for moment in failures if moment > now - limit.within)
    return recent[-limit.failures] + limit.within if len(recent) >= limit.failures else None


def span_in_words(span: timedelta) -> str:
    """How long to wait, never less than it is: minutes, above an hour and a half hours."""
    minutes = max(1, math.ceil(span / timedelta(minutes=1)))
    if minutes <= 90:  # noqa: PLR2004 - an hour and a half
        return f"{minutes} minute{'' if minutes == 1 else 's'}"
    return f"{math.ceil(minutes / 60)} hours"


def network_of(address: str) -> str:
    """What counts as one network: an IPv4 address; of IPv6 the /64, for whoever has one of it has them all."""
    try:
        parsed = ip_address(address.strip())
    except ValueError:
        return "unknown"
    if not isinstance(parsed, IPv6Address):
        return str(parsed)
    return str(parsed.ipv4_mapped or ip_network(f"{parsed}/64", strict=False).network_address)


def client_address(remote: str, forwarded: str, proxies: int) -> str:
    """Who asked: behind `proxies` trusted proxies the entry of X-Forwarded-For that the first of them wrote.

    What stands further left was written by anybody. A list that is too short did not come through all of them.
    """
    told = [entry.strip() for entry in forwarded.split(",") if entry.strip()]
    return told[-proxies] if 0 < proxies <= len(told) else remote
