"""The order of grades: `Grade` lists them mildest first."""

from collections.abc import Iterable

from inspections.domain.vocabulary import Grade

ORDER = tuple(Grade)


def graver(one: Grade, other: Grade) -> Grade:
    """The graver of two grades."""
    return max(one, other, key=ORDER.index)


def worst(grades: Iterable[Grade]) -> Grade:
    """The gravest of all; `nothing_found` where there is none."""
    return max(grades, key=ORDER.index, default=Grade.NOTHING_FOUND)
