"""People: who has which role where; giving and taking roles, addresses, passwords, and closing an account."""

from functools import cached_property
from typing import Any

from django import forms
from django.db.models import Prefetch, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import ADMINISTRATORS, Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Membership, User
from gearlife.operations.access import NewRole, change_address, give_role, take_role
from gearlife.operations.passwords import fresh_password
from gearlife.web.numbered import page_of
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.people_forms import AddressForm, GivingForm, PersonForm
from gearlife.web.settings.places import role_in_words
from gearlife.web.settings.setting import Asking, Confirming, Setting, TellingASecret

PAGE_SIZE = 60


def with_roles(users: QuerySet[User]) -> QuerySet[User]:
    """Accounts with their roles, in two queries."""
    roles = Membership.objects.select_related("club", "team").order_by("role", "id")
    return users.prefetch_related(Prefetch("memberships", queryset=roles))


def person_in_words(user: User) -> dict[str, Any]:
    """An account as a line shows it."""
    return {"user": user, "roles": [role_in_words(role) for role in user.memberships.all()]}


class People(Setting):
    """`/settings/people/?q=NAME`: people, and the accounts of devices apart."""

    template = "gearlife/settings/people.html"
    title = gettext_lazy("People")

    def context(self) -> Context:
        """One page of people; all devices on the first."""
        named = self.request.GET.get("q", "").strip()
        accounts = User.objects.visible_to(self.actor).filter(username__icontains=named.replace("\0", ""))
        people = with_roles(accounts.filter(is_device=False).order_by("-is_active", "username"))
        page, rows = page_of(people, self.request.GET, PAGE_SIZE)
        devices = with_roles(accounts.filter(is_device=True).order_by("-is_active", "username"))
        return {
            "q": named,
            "numbered": page,
            "people": [person_in_words(user) for user in rows],
            "devices": [person_in_words(user) for user in devices[:PAGE_SIZE]] if page.number == 1 else [],
            "sees_all": self.actor.sees_every_club,
            "may_change": self.actor.may_be(*ADMINISTRATORS),
        }


class AddPerson(TellingASecret, Asking):
    """`/settings/people/add/`: an account with its first role; its first password is told on the answer."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    title = gettext_lazy("Add a person")
    button = gettext_lazy("Add this person")

    def form(self) -> forms.Form:
        """Empty."""
        return PersonForm(self.sent, actor=self.actor)

    def context(self) -> Context:
        """The form, and what it answers."""
        says = _("The first password is shown on the next page, once.")
        return super().context() | {"says": says, "back": reverse("gearlife:people")}

    def secret(self) -> Context:
        """Make the account and give the role; the password of one that is new."""
        stamp = self.permit(None)
        typed = read(self.form())
        made = self.made_once("people", stamp, lambda: _add(typed, stamp))
        if made is None:
            return {}
        user, password = made
        words = (
            _("First password of %(name)s") if password else _("%(name)s has this role now, and signs in as before.")
        )
        back = reverse("gearlife:person", args=[user.id])
        return {"secret": password, "secret_of": words % {"name": user}, "back": back, "says": ""}


def _add(typed: dict[str, Any], stamp: Stamp) -> tuple[User, str]:
    known = User.objects.filter(organisation_id=stamp.actor.organisation_id, username=typed["username"]).exists()
    new = NewRole(
        username=typed["username"],
        role=Role(typed["role"]),
        club=None if typed["where"].team else typed["where"].club,
        team=typed["where"].team,
        is_device=False,
        email=typed["email"] or None,
    )
    user = give_role(new=new, stamp=stamp).user
    return user, "" if known else fresh_password(user=user, stamp=stamp)


class OfOneAccount(Setting):
    """A page about the account in its address."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS

    @cached_property
    def account(self) -> User:
        """The account, where the actor may see it."""
        found: User = self.found(User.objects, self.kwargs["user"])
        return found

    @property
    def back(self) -> str:
        """The account's own page."""
        return reverse("gearlife:person", args=[self.account.id])


class Person(OfOneAccount):
    """`/settings/people/USER/`: one account whole."""

    template = "gearlife/settings/person.html"
    allow = Setting.allow

    def context(self) -> Context:
        """Its roles, and what can be done with it."""
        roles = list(Membership.objects.filter(user=self.account).select_related("club", "team").order_by("role", "id"))
        return {
            "account": self.account,
            "roles": [{"id": role.id, "words": role_in_words(role)} for role in roles],
            "may_change": self.actor.may_be(*ADMINISTRATORS),
            "is_own": self.account.id == self.actor.user_id,
        }


class GiveRole(OfOneAccount, Asking):
    """`/settings/people/USER/role/`."""

    title = gettext_lazy("Give a role")
    button = gettext_lazy("Give this role")

    def form(self) -> forms.Form:
        """Empty."""
        return GivingForm(self.sent, actor=self.actor)

    def context(self) -> Context:
        """The form."""
        return super().context() | {"says": str(self.account), "back": self.back}

    def act(self) -> str:
        """Give it once."""
        stamp = self.permit(None)
        typed = read(self.form())
        where = typed["where"]
        new = NewRole(
            username=self.account.username,
            role=Role(typed["role"]),
            club=None if where.team else where.club,
            team=where.team,
        )
        self.once("memberships", stamp, lambda _: give_role(new=new, stamp=stamp))
        self.told(_("The role was given. It counts at once."))
        return self.back


class TakeRole(Confirming):
    """`/settings/roles/ID/take/`."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    title = gettext_lazy("Take a role away")
    button = gettext_lazy("Take it away")

    @cached_property
    def role(self) -> Membership:
        """The role in the address."""
        found: Membership = self.found(
            Membership.objects.select_related("user", "club", "team"), self.kwargs["membership"]
        )
        return found

    def context(self) -> Context:
        """Whose and which."""
        told = {"name": self.role.user, "role": role_in_words(self.role)}
        return super().context() | {
            "says": _("%(name)s: %(role)s") % told,
            "asks": [_("Whoever is signed in with it, and every token of the account, loses it at once.")],
            "back": reverse("gearlife:person", args=[self.role.user_id]),
        }

    def act(self) -> str:
        """Take it."""
        stamp = self.permit(None)
        address = reverse("gearlife:person", args=[self.role.user_id])
        self.once("memberships-take", stamp, lambda _: take_role(membership=self.role, stamp=stamp))
        self.told(_("The role was taken away."))
        return address


class ChangeAddress(OfOneAccount, Asking):
    """`/settings/people/USER/address/`."""

    title = gettext_lazy("Mail address")
    button = gettext_lazy("Enter this address")

    def form(self) -> forms.Form:
        """As it is recorded."""
        return AddressForm(self.sent, initial={"email": self.account.email})

    def context(self) -> Context:
        """The form."""
        caution = _("Stops and the daily mail go to this address from now on.")
        return super().context() | {"says": str(self.account), "caution": caution, "back": self.back}

    def act(self) -> str:
        """Enter it."""
        stamp = self.permit(None)
        email = read(self.form())["email"]
        self.once("people-address", stamp, lambda _: change_address(user=self.account, email=email))
        self.told(_("The address was entered.") if email else _("The account gets no mails now."))
        return self.back
