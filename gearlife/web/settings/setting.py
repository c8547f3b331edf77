"""What the settings' pages share: forms that are read whole, rows that nobody changed meanwhile, secrets shown once."""

from collections.abc import Callable
from typing import Any, TypeVar

from django import forms
from django.db.models import Model
from django.http import HttpRequest, HttpResponseBase, QueryDict
from django.utils.cache import patch_cache_control
from django.utils.translation import gettext as _

from gearlife.domain.access import ADMINISTRATORS, WRITERS, Actor, Stamp
from gearlife.domain.errors import ConflictError, GearlifeError, NotFoundError, NotPermittedError
from gearlife.domain.vocabulary import Role
from gearlife.models import Club
from gearlife.web.pages import Context, Page, status_of

Row = TypeVar("Row", bound=Model)
READ_BY_PEOPLE_WHO_SEE_ALL = ADMINISTRATORS | {Role.AUDITOR}


class Setting(Page):
    """A page of the settings; a device's own account changes none of them."""

    def permit(self, club: Club | None, roles: frozenset[Role] | None = None) -> Stamp:
        """The stamp of an act; NotPermittedError for a device, and where the role is not held."""
        if self.actor.is_device:
            raise NotPermittedError("A device's own account changes no settings.")
        return super().permit(club, roles)

    def same(self, row: Row) -> Row:
        """The row, locked in the act's transaction; ConflictError where it is not what the form was opened on."""
        rows: Any = type(row)._meta.default_manager
        now: Row | None = rows.select_for_update(no_key=True).filter(pk=row.pk).first()
        if now is None or str(getattr(now, "version", "")) != self.text("version"):
            raise ConflictError(_("Somebody has changed this meanwhile: open the page again."), code="changed")
        return now


class Asking(Setting):
    """A page that is one form."""

    template = "gearlife/settings/form.html"
    button: Any = ""

    def form(self) -> forms.Form:
        """The form: with what was sent, else as it is recorded."""
        raise NotImplementedError

    @property
    def sent(self) -> QueryDict | None:
        """What was sent, None while the form is only shown."""
        return self.request.POST if self.request.method == "POST" else None

    def context(self) -> Context:
        """The form."""
        return {"form": self.form(), "button": self.button}


class Confirming(Setting):
    """A page that asks once more and has one button."""

    template = "gearlife/settings/confirm.html"
    button: Any = ""

    def context(self) -> Context:
        """The words of the button."""
        return {"button": self.button}


class TellingASecret(Setting):
    """A page whose act makes a secret: it is written on the answer itself, and nowhere else."""

    told_in = "gearlife/settings/secret.html"

    def secret(self) -> Context:
        """Do the act; what the answer shows: `secret`, None where this form has done it before."""
        raise NotImplementedError

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Answer with the secret itself: on the way to another page it would have to be kept somewhere."""
        try:
            shown = self.secret()
        except NotFoundError:
            raise
        except GearlifeError as refused:
            return self.show(status=status_of(refused), refusal=refused, typed=self.typed)
        answer = self.show(told=True, **shown)
        patch_cache_control(answer, no_store=True)
        return answer

    def made_once(self, resource: str, stamp: Stamp, make: Callable[[], Any]) -> Any:  # noqa: ANN401 - what `make` gives
        """What `make` gave; None where this very form has made it before."""
        made: list[Any] = []
        self.once(resource, stamp, lambda _: made.append(make()))
        return made[0] if made else None


def may_write(actor: Actor, club: Club) -> bool:
    """Whether the actor changes what belongs to the club."""
    return any(
        grant.role is Role.ADMINISTRATOR or (grant.role in WRITERS and grant.club_id == club.id)
        for grant in actor.grants
    )
