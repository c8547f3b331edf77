"""What is typed of people and devices."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from gearlife.domain.vocabulary import Role
from gearlife.operations.devices import LONGEST_LABEL
from gearlife.web.settings.places import RoleForm
from gearlife.web.words import words_for

# A device that gives roles there is none: whatever an administrator does beyond the others only people do.
OF_DEVICES = (Role.OFFICER, Role.COACH, Role.DAMAGE_REPORTER, Role.AUDITOR)


def _roles(roles: Iterable[Role]) -> list[tuple[str, Any]]:
    """Nothing is chosen beforehand: no role is given by forgetting to choose."""
    return [("", _("choose a role")), *((role.value, words_for(role)) for role in roles)]


class GivingForm(RoleForm):
    """A role to give to an account that is there."""

    role = forms.ChoiceField(label=_("Role"), choices=lambda: _roles(Role))
    field_order = ["role", "where"]


class PersonForm(GivingForm):
    """A person with a first role."""

    username = forms.RegexField(
        r"^[\w.@+-]+$",
        label=_("User name"),
        max_length=80,
        help_text=_("Letters, figures and . @ + - _ without blanks. It stays in the history of every act."),
        error_messages={"invalid": _("Letters, figures and . @ + - _ without blanks.")},
    )
    email = forms.EmailField(
        label=_("Mail address"), max_length=254, required=False, help_text=_("For alerts. Empty: none are sent.")
    )
    field_order = ["username", "role", "where", "email"]


class AddressForm(forms.Form):
    """Where the account gets its mails."""

    email = forms.EmailField(
        label=_("Mail address"), max_length=254, required=False, help_text=_("Empty: none are sent.")
    )


class TokenForm(forms.Form):
    """What a token is for."""

    label = forms.CharField(
        label=_("What it is for"), max_length=LONGEST_LABEL, help_text=_("As: tablet at the door of the room.")
    )


class DeviceForm(TokenForm, RoleForm):
    """A device or program of a club."""

    role = forms.ChoiceField(label=_("Role"), choices=lambda: _roles(OF_DEVICES))
    field_order = ["label", "role", "where"]
    nowhere = _("choose a club or a team")
    where_help = _(
        "A device is of a club; a coach's, of a team. An auditor's reads the whole organisation all the same."
    )
