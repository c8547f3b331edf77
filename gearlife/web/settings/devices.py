"""Devices and programs: which tokens count, making one, revoking one."""

from functools import cached_property
from typing import Any

from django import forms
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import ADMINISTRATORS
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, User
from gearlife.operations.devices import DeviceToken, NewDevice, add_device, new_token, revoke_token
from gearlife.web.numbered import page_of
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.people import OfOneAccount, with_roles
from gearlife.web.settings.people_forms import DeviceForm, TokenForm
from gearlife.web.settings.places import role_in_words
from gearlife.web.settings.setting import READ_BY_PEOPLE_WHO_SEE_ALL, Asking, Confirming, Setting, TellingASecret

PAGE_SIZE = 60
# Of tokens that are over, the newest are shown.
ENDED_SHOWN = 20


class Devices(Setting):
    """`/settings/devices/`: every token of the organisation, of devices and of people."""

    template = "gearlife/settings/devices.html"
    title = gettext_lazy("Devices and programs")
    allow = READ_BY_PEOPLE_WHO_SEE_ALL

    def context(self) -> Context:
        """Those that count, in pages; of those that are over the newest."""
        tokens = AccessToken.objects.visible_to(self.actor)
        over = Q(revoked_at__isnull=False) | Q(expires_at__lte=self.stamp().at) | Q(user__is_active=False)
        page, living = page_of(tokens.exclude(over).order_by("expires_at", "id"), self.request.GET, PAGE_SIZE)
        ended = list(tokens.filter(over).order_by("-created_at", "-id")[:ENDED_SHOWN])
        users = {
            user.id: user for user in with_roles(User.objects.filter(id__in={t.user_id for t in (*living, *ended)}))
        }
        return {
            "numbered": page,
            "living": [_told(token, users[token.user_id]) for token in living],
            "ended": [_told(token, users[token.user_id]) for token in ended],
            "zone": self.actor.timezone,
            "may_change": self.actor.may_be(*ADMINISTRATORS),
        }


def _told(token: AccessToken, user: User) -> dict[str, Any]:
    return {"token": token, "user": user, "roles": [role_in_words(role) for role in user.memberships.all()]}


class AddDevice(TellingASecret, Asking):
    """`/settings/devices/add/`: an account of a device's own, with one role and one token."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    title = gettext_lazy("Add a device or program")
    button = gettext_lazy("Make its token")

    def form(self) -> forms.Form:
        """Empty."""
        return DeviceForm(self.sent, actor=self.actor)

    def context(self) -> Context:
        """The form, and what such a token may do."""
        return super().context() | {
            "says": _("Its token is shown on the next page, once, and counts for a year."),
            "caution": _(
                "A device does what its role carries: it looks up, inspects, holds, hands out and takes back. It never "
                "ends a stop, never retires an item, and changes no rules, seasons, roles or tokens: people do."
            ),
            "back": reverse("gearlife:devices"),
        }

    def secret(self) -> Context:
        """Make the account and its token."""
        stamp = self.permit(None)
        typed = read(self.form())
        where = typed["where"]
        if where.club is None:
            raise InvalidInputError.at("/where", _("Where: name the club, or a coach's team."))
        new = NewDevice(club=where.club, role=Role(typed["role"]), label=typed["label"], team=where.team)
        made: DeviceToken | None = self.made_once("devices", stamp, lambda: add_device(new=new, stamp=stamp))
        told = {"secret": made.secret if made else None, "says": ""}
        return told | {"secret_of": _("Token: %(label)s") % {"label": typed["label"]}}


class AddToken(TellingASecret, OfOneAccount, Asking):
    """`/settings/people/USER/token/`: one more token of an account, before the old one ends."""

    title = gettext_lazy("Make a token")
    button = gettext_lazy("Make this token")

    def form(self) -> forms.Form:
        """Empty."""
        return TokenForm(self.sent)

    def context(self) -> Context:
        """The form, and what it lets do."""
        caution = _("Whoever has the token does everything over the API that the account's roles carry, for a year.")
        return super().context() | {"says": str(self.account), "caution": caution, "back": self.back}

    def secret(self) -> Context:
        """Make it."""
        stamp = self.permit(None)
        label = read(self.form())["label"]
        made = self.made_once("tokens", stamp, lambda: new_token(user=self.account, label=label, stamp=stamp))
        return {"secret": made, "secret_of": _("Token of %(name)s: %(label)s") % {"name": self.account, "label": label}}


class RevokeToken(Confirming):
    """`/settings/devices/TOKEN/revoke/`."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    title = gettext_lazy("Revoke a token")
    button = gettext_lazy("Revoke it")

    @cached_property
    def token(self) -> AccessToken:
        """The token in the address."""
        found: AccessToken = self.found(AccessToken.objects.select_related("user"), self.kwargs["token"])
        return found

    def context(self) -> Context:
        """Whose and which."""
        told = {"label": self.token.label or _("without a label"), "name": self.token.user}
        return super().context() | {
            "says": _("%(label)s, of %(name)s") % told,
            "asks": [
                _("It stops counting at once, and cannot be brought back. Its account stays, and its other tokens.")
            ],
            "back": reverse("gearlife:devices"),
        }

    def act(self) -> str:
        """Revoke it."""
        stamp = self.permit(None)
        self.once("tokens-revoke", stamp, lambda _: revoke_token(token_id=self.token.id, stamp=stamp))
        self.told(_("The token was revoked."))
        return reverse("gearlife:devices")
