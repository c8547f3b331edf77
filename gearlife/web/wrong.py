"""What has gone wrong, as a page: which, why, and the way out. Nothing of another organisation is told."""

import logging
from collections.abc import Mapping

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

logger = logging.getLogger(__name__)

Words = str | Promise
HEADINGS: Mapping[int, Words] = {
    400: _("This cannot be taken as it is"),
    403: _("Your role does not carry this"),
    404: _("There is nothing here"),
    405: _("This cannot be done here"),
    413: _("This is too large"),
    500: _("Something failed here"),
    503: _("The records are busy"),
}


def wrong(request: HttpRequest, status: int, words: Words) -> HttpResponse:
    """The page of a refusal that belongs to no form."""
    context = {"heading": HEADINGS.get(status, HEADINGS[400]), "words": words}
    return render(request, "gearlife/wrong.html", context, status=status)


def unavailable(request: HttpRequest, error: Exception) -> HttpResponse:
    """The database is locked for too long or away: nothing was written, and a retry is right."""
    logger.error("the database did not answer", exc_info=error)
    answer = wrong(request, 503, _("Nothing was changed. Wait a moment and send it again."))
    answer["Retry-After"] = "2"
    return answer


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's own 400."""
    if isinstance(exception, RequestDataTooBig):
        return wrong(request, 413, _("Go back and send less at once: a file is at most 12 MB, a larger one is split."))
    return wrong(request, 400, _("Go back, and send it again from the page itself."))


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's own 403."""
    return wrong(request, 403, _("Ask an administrator of your organisation."))


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Absent and foreign look alike."""
    return wrong(request, 404, _("There is nothing at this address, or nothing that you may see."))


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose check value is not this browser's: opened long ago, or somebody else signed in meanwhile."""
    return wrong(
        request, 403, _("This form is no longer current. Go back, open the page again, and send it from there.")
    )


def server_error(request: HttpRequest) -> HttpResponse:
    """The unforeseen: it is logged, and the page says nothing of it. Plain text: a template may be what failed."""
    words = f"{HEADINGS[500]}. {_('It was written down, and nothing was changed. Go back and try again.')}"
    return HttpResponse(words, status=500, content_type="text/plain; charset=utf-8")
