"""Every page, read from the addresses themselves: what the tests must cover is never listed by hand."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from gearlife.models import AccessToken
from tests.gearlife.api.league import League

NAMESPACES = ("gearlife", "fitting", "inspections")
# For whoever comes by.
OPEN = {"gearlife:cautions", "gearlife:sign-in", "gearlife:sign-out"}
# Which row of the league stands behind a part of an address, by its name, else by the first word of the address.
NAMED = {
    "team": "teams",
    "club": "clubs",
    "season": "seasons",
    "alert": "alerts",
    "player": "players",
    "item": "items",
    "membership": "memberships",
    "model": "models",
    "report": "damage-reports",
    "position": "pad-positions",
    "guard": "faceguards",
}
# What stands behind no address of the API.
HANGING: dict[str, Callable[[League], Any]] = {
    "hold": lambda league: league.hold,
    "file": lambda league: league.file_in_hand,
    "user": lambda league: league.users["O"],
    "token": lambda league: AccessToken.objects.get(user=league.users["V"]),
}
FIRST_WORD = {
    "gear": "items",
    "players": "players",
    "alerts": "alerts",
    "receipts": "receipts",
    "take-in": "intakes",
    "plan": "allocation-plans",
}
AFTER_SETTINGS = {
    "rules": "policy-rules",
    "seasons": "seasons",
    "people": "memberships",
    "teams": "teams",
    "clubs": "clubs",
    "models": "models",
    "retention": "retention-rules",
}


@dataclass(frozen=True)
class Address:
    """One page: its name, its route as written, and the parts of it that name rows."""

    name: str
    route: str
    parts: tuple[str, ...]

    def __str__(self) -> str:
        return self.name

    def path(self, league: League) -> str:
        """The address with the league's own rows in it."""
        return "/" + re.sub(r"<(?:\w+:)?(\w+)>", lambda part: str(self.row(part[1], league).pk), self.route)

    def row(self, part: str, league: League) -> Any:
        """The row that a part of the address names."""
        if part in HANGING:
            return HANGING[part](league)
        if part in NAMED:
            return league.rows[NAMED[part]]
        words = self.route.split("/")
        if words[:2] == ["check", "item"]:
            return league.item
        return league.rows[AFTER_SETTINGS[words[1]] if words[0] == "settings" else FIRST_WORD[words[0]]]


def pages() -> list[Address]:
    """All of them."""
    return sorted(_pages(), key=lambda page: page.name)


def _pages() -> Iterator[Address]:
    for resolver in get_resolver().url_patterns:
        if not isinstance(resolver, URLResolver) or resolver.namespace not in NAMESPACES:
            continue
        for pattern in resolver.url_patterns:
            assert isinstance(pattern, URLPattern)
            route = str(pattern.pattern)
            yield Address(f"{resolver.namespace}:{pattern.name}", route, tuple(re.findall(r"<(?:\w+:)?(\w+)>", route)))
