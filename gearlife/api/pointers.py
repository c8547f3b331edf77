"""Places in a sent body as JSON pointers (RFC 6901), and faults found there by serializers."""

from collections.abc import Iterator

from rest_framework.settings import api_settings

from gearlife.domain.errors import Fault


def pointer_to(base: str, key: object) -> str:
    """The pointer to a member or element of what `base` points to."""
    return f"{base}/{str(key).replace('~', '~0').replace('/', '~1')}"


def faults_in(detail: object, base: str = "") -> Iterator[Fault]:
    """Flatten the nested detail of a DRF ValidationError: one fault a message, each with its place."""
    match detail:
        case dict():
            for key, inner in detail.items():
                here = base if key == api_settings.NON_FIELD_ERRORS_KEY else pointer_to(base, key)
                yield from faults_in(inner, here)
        case list() | tuple():
            for inner in detail:
                yield from faults_in(inner, base)
        case _:
            yield Fault(str(detail), base, getattr(detail, "code", "invalid"))
