"""JSON in, strictly: what two readers could understand in two ways is refused."""

import json
import math
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import IO, Any

from django.utils.http import parse_header_parameters
from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.parsers import BaseParser

from gearlife.api.pointers import pointer_to
from gearlife.domain.errors import Fault, InvalidInputError

DEEPEST = 10
_UTF_8 = {"", "utf-8", "utf8", "us-ascii"}


class StrictJSONParser(BaseParser):
    """One JSON object in UTF-8: no doubled keys, NaN, Infinity, NUL, half surrogates; at most ten deep."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:
        """Read the body; InvalidInputError names the place, UnsupportedMediaType a foreign charset."""
        media_type = media_type or self.media_type
        _, parameters = parse_header_parameters(media_type)
        if parameters.get("charset", "").lower() not in _UTF_8:
            raise UnsupportedMediaType(media_type)
        return read_object(stream.read())


def read_object(body: bytes) -> dict[str, Any]:
    """Read one JSON object; InvalidInputError with every fault that the strict reading finds."""
    try:
        read = json.loads(
            body.decode(),
            object_pairs_hook=_once_each,
            parse_constant=_refuse_constant,
            parse_float=_finite,
        )
    except RecursionError:
        raise InvalidInputError(f"the body is nested more than {DEEPEST} deep", code="malformed") from None
    except ValueError as error:
        raise InvalidInputError(f"the body is not JSON: {error}", code="malformed") from None
    if not isinstance(read, dict):
        raise InvalidInputError("the body must be a JSON object", code="malformed")
    if faults := list(_faults(read, "", 1)):
        raise InvalidInputError("the body cannot be taken as it is", code="malformed", faults=faults)
    return read


class _Doubled(dict[str, Any]):
    """An object in which these names were written more than once."""

    names: frozenset[str] = frozenset()


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read = dict(pairs)
    if len(read) == len(pairs):
        return read
    doubled = _Doubled(read)
    doubled.names = frozenset(name for name, times in Counter(name for name, _ in pairs).items() if times > 1)
    return doubled


def _refuse_constant(word: str) -> float:
    raise ValueError(f"{word} is not a JSON number")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:20]} is too large a number")
    return number


def _faults(value: object, pointer: str, depth: int) -> Iterator[Fault]:
    """Every place that JSON allows and we do not."""
    if depth > DEEPEST and isinstance(value, dict | list):
        yield Fault(f"nested more than {DEEPEST} deep", pointer, "too_deep")
        return
    match value:
        case str():
            yield from _text_faults(value, pointer)
        case dict():
            for name in sorted(getattr(value, "names", ())):
                yield Fault("this name is given more than once", pointer_to(pointer, name), "duplicate_name")
            for name, member in value.items():
                yield from _text_faults(name, pointer)
                yield from _faults(member, pointer_to(pointer, name), depth + 1)
        case list():
            for index, element in enumerate(value):
                yield from _faults(element, pointer_to(pointer, index), depth + 1)


def _text_faults(text: str, pointer: str) -> Iterator[Fault]:
    if "\x00" in text:
        yield Fault("text must not hold a NUL character", pointer, "nul")
    try:
        text.encode()
    except UnicodeEncodeError:
        yield Fault("text must not hold half a surrogate pair", pointer, "surrogate")
