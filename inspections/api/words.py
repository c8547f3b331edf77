"""Word lists as the choices of a body's field."""

from enum import StrEnum


def words_of(words: type[StrEnum]) -> list[tuple[str, str]]:
    """The words of an enum, each with itself as its label."""
    return [(word.value, word.value) for word in words]
