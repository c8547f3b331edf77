"""JSON out, always: rows are plain values and msgspec writes them without a loop over fields."""

from collections.abc import Iterable, Mapping

import msgspec
from django.utils.functional import Promise
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request


def to_json(value: object) -> bytes:
    """Write JSON: moments as RFC 3339, ids and words as text; TypeError on a foreign type."""
    return _ENCODER.encode(value)


def _plain(value: object) -> object:
    match value:
        case Promise() | str():
            return str(value)
        case Mapping():
            return dict(value)
    raise TypeError(f"no JSON for a {type(value).__name__}")


_ENCODER = msgspec.json.Encoder(enc_hook=_plain, decimal_format="number")


class JSONRenderer(BaseRenderer):
    """Renders rows and problems alike; the response names its own content type when it is a problem."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(
        self,
        data: object,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, object] | None = None,
    ) -> bytes:
        """Write the body; nothing for an answer without one."""
        return b"" if data is None else to_json(data)


class AlwaysJSON(DefaultContentNegotiation):
    """Whatever a client says that it accepts, it gets JSON: an answer is worth more than a 406."""

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        """The view's first renderer."""
        first = next(iter(renderers))
        return first, first.media_type
