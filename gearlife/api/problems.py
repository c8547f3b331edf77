"""Every refusal as a problem document (RFC 9457): one table from our errors to status codes, one envelope."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.db import OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from rest_framework.exceptions import APIException, ValidationError
from rest_framework.response import Response

from gearlife.api.pointers import faults_in
from gearlife.api.rendering import to_json
from gearlife.domain.errors import (
    ConflictError,
    Fault,
    GearlifeError,
    InvalidInputError,
    NotFoundError,
    NotPermittedError,
    PreconditionFailedError,
    PreconditionRequiredError,
    TooLargeError,
    TooManyTriesError,
    UnsupportedFormatError,
)

logger = logging.getLogger(__name__)

CONTENT_TYPE = "application/problem+json"
MOST_ERRORS = 100

STATUS: Mapping[type[GearlifeError], int] = {
    InvalidInputError: 400,
    NotPermittedError: 403,
    NotFoundError: 404,
    ConflictError: 409,
    PreconditionFailedError: 412,
    TooLargeError: 413,
    UnsupportedFormatError: 415,
    PreconditionRequiredError: 428,
    TooManyTriesError: 429,
}
DJANGO: Mapping[type[Exception], int] = {
    RequestDataTooBig: 413,
    Http404: 404,
    PermissionDenied: 403,
    # Locked for too long, shutting down, out of connections: nothing was written, and a retry is right.
    OperationalError: 503,
}
# Code and words of what the framework refuses before any code of ours is asked.
PLAIN: Mapping[int, tuple[str, str]] = {
    400: ("invalid", "What was sent cannot be taken as it is."),
    401: ("not_authenticated", "A valid bearer token or a signed-in session is needed."),
    403: ("not_permitted", "Your role does not carry this."),
    404: ("not_found", "There is nothing here, or nothing that you may see."),
    405: ("method_not_allowed", "This address does not take this method."),
    413: ("too_large", "The body is larger than this address takes."),
    415: ("unsupported_media_type", "This address does not take a body of this type."),
    429: ("throttled", "Too many requests; wait as long as Retry-After says."),
    500: ("server_error", "Something failed here; it was written down, and nothing was changed."),
    503: ("unavailable", "The database is busy or away; nothing was changed. Try again in a moment."),
}


@dataclass(frozen=True)
class Problem:
    """One problem document and the headers that go with it."""

    status: int
    code: str
    detail: str
    faults: Sequence[Fault] = ()
    headers: Mapping[str, str] = field(default_factory=dict)
    members: Mapping[str, object] = field(default_factory=dict)

    @classmethod
    def plain(cls, status: int, **headers: str) -> "Problem":
        """The problem of a status that needs no further words."""
        code, detail = PLAIN[status]
        return cls(status, code, detail, headers=headers)

    def document(self, base: str = "") -> dict[str, Any]:
        """The members of RFC 9457 with `code`, `errors` and those of its own; `base` goes before every pointer."""
        return {
            "type": f"urn:gearlife:problem:{self.code}",
            "title": HTTPStatus(self.status).phrase,
            "status": self.status,
            "code": self.code,
            "detail": self.detail,
            "errors": [_error(fault, base) for fault in self.faults[:MOST_ERRORS]],
            **self.members,
        }

    def response(self) -> HttpResponse:
        """The answer, where no view of the framework can give it."""
        return HttpResponse(
            to_json(self.document()),
            status=self.status,
            content_type=CONTENT_TYPE,
            headers=dict(self.headers),
        )


def problem_of(error: Exception) -> Problem | None:
    """What an error means to a client; None for one that nobody foresaw."""
    match error:
        case GearlifeError():
            return Problem(_status_of(error), error.code, error.detail, error.faults)
        case ValidationError():
            faults = tuple(faults_in(error.detail))
            return Problem(400, "invalid", "; ".join(dict.fromkeys(fault.detail for fault in faults[:5])), faults)
        case APIException():
            return _of_framework(error)
    status = next((status for kind, status in DJANGO.items() if isinstance(error, kind)), None)
    if status == HTTPStatus.SERVICE_UNAVAILABLE:
        logger.error("the database did not answer", exc_info=error)
        return Problem.plain(status, **{"Retry-After": "2"})
    return Problem.plain(status) if status else None


def problem_response(error: Exception, context: Mapping[str, Any]) -> Response | None:
    """The exception handler of every view; None lets the unforeseen go on to `server_error`, logged."""
    problem = problem_of(error)
    if problem is None:
        return None
    headers = dict(problem.headers)
    if challenge := getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = challenge
    return Response(problem.document(), status=problem.status, headers=headers, content_type=CONTENT_TYPE)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's own 400."""
    return Problem.plain(413 if isinstance(exception, RequestDataTooBig) else 400).response()


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's own 403."""
    return Problem.plain(403).response()


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """An address that does not exist; one without its last slash is not another address."""
    return Problem.plain(404).response()


def server_error(request: HttpRequest) -> HttpResponse:
    """The unforeseen: Django has logged it, the client learns nothing of it."""
    return Problem.plain(500).response()


def _status_of(error: GearlifeError) -> int:
    return next(status for kind, status in STATUS.items() if isinstance(error, kind))


def _of_framework(error: APIException) -> Problem:
    code, words = PLAIN.get(error.status_code, ("error", ""))
    own_words = str(error.detail) if error.status_code in {400, 503} else words
    headers = {}
    if wait := getattr(error, "wait", None):
        headers["Retry-After"] = str(int(wait))
    return Problem(error.status_code, code, own_words, headers=headers, members=getattr(error, "members", {}))


def _error(fault: Fault, base: str) -> dict[str, str]:
    """One entry of `errors`; a place that begins with `?` is a query parameter."""
    place = {"parameter": fault.pointer[1:]} if fault.pointer.startswith("?") else {"pointer": base + fault.pointer}
    return {**place, "code": fault.code, "detail": fault.detail}
