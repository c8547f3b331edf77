"""Conditional requests (RFC 9110, section 13; RFC 6585, section 3): an ETag is a version and the day of reading.

What a row says of its clocks changes with the day though nobody wrote; so an answer of yesterday is not
current. A change names the version alone: nothing was written overnight, so nothing is lost.
"""

from datetime import date

from django.utils.http import parse_etags
from rest_framework.request import Request

from gearlife.domain.errors import PreconditionFailedError, PreconditionRequiredError


def etag_of(version: int | str, day: date) -> str:
    """The strong tag of a row as of a day."""
    return f'"{version}-{day}"'


def is_current(request: Request, tag: str) -> bool:
    """Whether `If-None-Match` holds this tag (weak comparison)."""
    held = parse_etags(request.headers.get("If-None-Match", ""))
    return "*" in held or tag in {each.removeprefix("W/") for each in held}


def required_version(request: Request, version: int) -> None:
    """Check `If-Match` (strong comparison).

    Raises PreconditionRequiredError without it, PreconditionFailedError when it is stale.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        raise PreconditionRequiredError("Send If-Match with the ETag that you read.")
    held = parse_etags(sent)
    # What follows a dot is no part of the version: the row said something more that has changed without a write.
    if "*" not in held and not any(tag.startswith((f'"{version}-', f'"{version}.')) for tag in held):
        raise PreconditionFailedError("This has changed since you read it; read it again.")
