"""Word lists in the database: choices for the field and a constraint that both databases enforce."""

from enum import StrEnum
from typing import Any

from django.db import models


# Any: django-stubs tells a field's type from the literal class alone.
def word_field(words: type[StrEnum], *, default: StrEnum | None = None, blank: bool = False) -> Any:  # noqa: ANN401
    """A text column that holds one of the words; the default's value is plain text, so migrations import no enum."""
    options: dict[str, Any] = {"max_length": 24, "blank": blank}
    if default is not None or blank:
        options["default"] = words(default).value if default is not None else ""
    return models.CharField(**options)


def one_of(field: str, words: type[StrEnum], *, table: str, blank: bool = False) -> models.CheckConstraint:
    """The constraint that keeps other words out."""
    allowed = [word.value for word in words] + ([""] if blank else [])
    return models.CheckConstraint(condition=models.Q((f"{field}__in", allowed)), name=f"{table}_{field}_word")
