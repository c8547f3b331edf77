"""A club with one helmet, and browsers of people with one role in it."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Organisation, Team
from tests import factories
from tests.pages import fields, sign_in


@dataclass
class Bench:
    """The club, its team, a helmet of the team's, and who sits at the screen."""

    club: Club = field(default_factory=factories.ClubFactory.create)

    def __post_init__(self) -> None:
        self.team = factories.TeamFactory.create(club=self.club)
        self.item: Item = factories.ItemFactory.create(club=self.club, team=self.team)

    def browser(self, role: Role = Role.OFFICER, at: Club | Team | Organisation | None = None) -> Client:
        """A browser in which a new person with this role is signed in."""
        return sign_in(Client(), factories.person(role, at=at or self.club))

    def address(self, act: str = "") -> str:
        """The item's page, or that of an act on it."""
        return f"/gear/{self.item.id}/{act}"

    def release(self, hold_id: UUID) -> str:
        """The page on which one hold is ended."""
        return self.address(f"release/{hold_id}/")


def sent(browser: Client, address: str, **typed: Any) -> Any:
    """What the page answers to its own form, with these fields typed."""
    return browser.post(address, {**fields(browser.get(address)), **typed})
