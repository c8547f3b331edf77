"""One's own settings: units, password, where one is signed in, and a code for another browser."""

from typing import Any, cast

from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.debug import sensitive_post_parameters

from gearlife.domain.errors import InvalidInputError, NotFoundError
from gearlife.domain.vocabulary import Units
from gearlife.models import User
from gearlife.operations import access, passwords
from gearlife.operations.sign_in import new_code
from gearlife.queries.sessions import places_of, session_named
from gearlife.web import clock
from gearlife.web.pages import Context, OwnPage


class You(OwnPage):
    """What only the person decides. Each part of the page is a form of its own, told apart by `what`."""

    template = "gearlife/you.html"
    title = gettext_lazy("Your settings")

    def context(self) -> Context:
        """The units, the roles, and where one is signed in."""
        user = own_account(self.request)
        return {
            "account": user,
            "units": list(Units),
            "places_signed_in": list(places_of(user.id, self.request.session.session_key, clock.now())),
        }

    def act(self) -> str:
        """Do what the form asks."""
        acts = {"units": self.prefer, "end": self.end, "code": self.give_code}
        act = acts.get(self.text("what"))
        if act is None:
            raise InvalidInputError("This form is incomplete; open the page again.")
        act()
        return reverse("gearlife:you")

    def prefer(self) -> None:
        """Change the units."""
        try:
            units = Units(self.text("units"))
        except ValueError as error:
            raise InvalidInputError.at("/units", _("Choose inches or centimetres.")) from error
        access.prefer_units(user=own_account(self.request), units=units)
        self.told(_("Lengths are shown that way from now on."))

    def end(self) -> None:
        """End another session of one's own."""
        session = session_named(own_account(self.request).id, self.text("session"))
        if session is None:
            raise NotFoundError("This session has ended already.")
        session.delete()
        self.told(_("That browser is signed out."))

    def give_code(self) -> None:
        """A code for a browser that is not known yet."""
        code = new_code(user=own_account(self.request), stamp=self.stamp())
        self.told(
            _("Your code for one new browser: %(code)s. It counts for an hour, together with your password.")
            % {"code": code}
        )


class NewPassword(OwnPage):
    """Change one's own password; the old one is asked for."""

    template = "gearlife/new_password.html"
    title = gettext_lazy("Change your password")

    @method_decorator(sensitive_post_parameters())
    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """As ever; no report of a fault shows what was typed."""
        return super().dispatch(request, *args, **kwargs)

    def context(self) -> Context:
        """Whose it is: a keeper of passwords wants to know."""
        return {"account": own_account(self.request)}

    def act(self) -> str:
        """Change it; every other session ends."""
        user, new = own_account(self.request), self.typed.get("new_password", "")
        if new != self.typed.get("again", ""):
            raise InvalidInputError.at("/again", _("The new password was not typed the same way twice."))
        passwords.change_password(
            user=user,
            old=self.typed.get("old_password", ""),
            new=new,
            session_key=self.request.session.session_key,
            stamp=self.stamp(),
        )
        update_session_auth_hash(self.request, user)
        self.told(_("Your password is changed. Whatever else was signed in as you is signed out."))
        return reverse("gearlife:you")


def own_account(request: HttpRequest) -> User:
    """The account of whoever is signed in."""
    return cast("User", request.user)
