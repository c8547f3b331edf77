"""Signing in and out, and sending what was typed when a session had run out."""

from typing import Any
from uuid import UUID

from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_cache_control
from django.utils.decorators import method_decorator
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _
from django.views import View
from django.views.decorators.debug import sensitive_post_parameters

from gearlife.domain.errors import GearlifeError, TooManyTriesError
from gearlife.operations.sign_in import SignedIn, Try, sign_in
from gearlife.web import carrying, clock, sessions
from gearlife.web.known_browsers import address_of, known_to, make_known
from gearlife.web.pages import Context, OwnPage, SeeOther


class SignIn(View):
    """By user name and password; then on to where one was going, on our own pages alone."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """Ask for both."""
        return self.show(next=_own_path(request.GET.get("next", "")))

    @method_decorator(sensitive_post_parameters("password", "code"))
    def post(self, request: HttpRequest) -> HttpResponseBase:
        """Look at both."""
        given = Try(
            name=request.POST.get("username", ""),
            password=request.POST.get("password", ""),
            code=request.POST.get("code", ""),
            address=address_of(request),
            known=known_to(request),
        )
        try:
            signed_in = sign_in(given=given, at=clock.now())
        except GearlifeError as refused:
            return self.refused(refused)
        return self.on_their_way(signed_in)

    def refused(self, refused: GearlifeError) -> HttpResponse:
        """The same page, with the reason and the name; what was carried along stays."""
        too_many = isinstance(refused, TooManyTriesError)
        return self.show(
            status=429 if too_many else 403,
            refusal=refused,
            username=self.request.POST.get("username", ""),
            next=_own_path(self.request.POST.get("next", "")),
            carried=self.request.POST.get("carried", ""),
            wants_code=too_many,
        )

    def on_their_way(self, signed_in: SignedIn) -> HttpResponseBase:
        """A new session, a known browser, and on; first to what could not be sent."""
        self.request.session.flush()  # a new one for the same person too
        login(self.request, signed_in.user)
        sessions.begin(self.request)
        going = _own_path(self.request.POST.get("next", ""))
        if unsent := carrying.unseal(self.request.POST.get("carried", "")):
            carrying.keep(self.request, unsent)
            going = reverse("gearlife:unsent")
        answer = SeeOther(going)
        make_known(self.request, answer, str(signed_in.user.id), signed_in.browser)
        return answer

    def show(self, status: int = 200, **more: object) -> HttpResponse:
        """Render the form."""
        answer = render(self.request, "gearlife/sign_in.html", {"heading": _("Sign in"), **more}, status=status)
        patch_cache_control(answer, private=True, no_store=True)
        return answer


class SignOut(View):
    """Ends the session; by POST alone, so that no link or picture does it."""

    http_method_names = ["post"]

    def post(self, request: HttpRequest) -> HttpResponseBase:
        """End it."""
        logout(request)
        return SeeOther(reverse("gearlife:sign-in"))


class SendAgain(HttpResponseRedirect):
    """Send the same form to another address (RFC 9110, section 15.4.8)."""

    status_code = 307


class UnsentPage(OwnPage):
    """What was typed before one had signed in again: read it, then send it or leave it."""

    template = "gearlife/unsent.html"
    title = _("This was not sent yet")

    def context(self) -> Context:
        """The page that it belongs to, and what was typed."""
        unsent = carrying.kept(self.request)
        fields = unsent.fields if unsent else []
        return {"unsent": unsent, "readable": [pair for pair in fields if pair[0] != "what" and _is_readable(pair[1])]}

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Send it to its own page, which looks at everything as ever; or leave it."""
        unsent = carrying.kept(request)
        carrying.forget(request)
        if unsent is None or "leave" in request.GET:
            self.told(_("What was typed has been left; nothing was recorded."))
            return SeeOther("/")
        return SendAgain(unsent.path)


def _own_path(address: str) -> str:
    """An address of our own, or the first page."""
    own = address.startswith("/") and url_has_allowed_host_and_scheme(address, allowed_hosts=None)
    return address if own else "/"


def _is_readable(value: str) -> bool:
    """Whether a value says something to people: it is no id, and not empty."""
    try:
        UUID(value)
    except ValueError:
        return bool(value.strip())
    return False
