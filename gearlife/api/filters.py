"""Filters of lists: declared, strict, and blind to whether an id is foreign or does not exist."""

import re
from collections.abc import Sequence, Set
from enum import StrEnum
from typing import Any, ClassVar, cast

import django_filters
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import QuerySet
from django.forms import IntegerField, NullBooleanField, TextInput
from django_filters.rest_framework.backends import DjangoFilterBackend
from django_filters.rest_framework.filterset import FilterSet
from rest_framework.request import Request
from rest_framework.views import APIView

from gearlife.api.pagination import PARAMETERS
from gearlife.domain.errors import Fault, InvalidInputError

LONGEST_TEXT = 200
FLAGS = {"true": True, "false": False}


# The library is not typed: each filter says its own arguments, once, here.


class IdFilter(django_filters.UUIDFilter):
    """An id: one that is foreign or that nobody has gives an empty list; one that is no id is a fault."""

    def __init__(self, **kwargs: Any) -> None:
        """Take any id."""
        super().__init__(**kwargs)  # type: ignore[no-untyped-call]


class TextFilter(django_filters.CharFilter):
    """A text of bounded length."""

    def __init__(self, **kwargs: Any) -> None:
        """Bound it."""
        super().__init__(**{"max_length": LONGEST_TEXT, **kwargs})  # type: ignore[no-untyped-call]


class WordFilter(django_filters.ChoiceFilter):
    """One word of a list."""

    def __init__(self, words: type[StrEnum], **kwargs: Any) -> None:
        """Take the words of the enum."""
        super().__init__(choices=[(word.value, word.value) for word in words], **kwargs)  # type: ignore[no-untyped-call]


class _IntegerField(IntegerField):
    def to_python(self, value: Any) -> int | None:  # noqa: ANN401 - the framework's signature
        if value and not re.fullmatch(r"-?[0-9]{1,15}", value):
            raise ValidationError("Write a whole number.")
        return super().to_python(value)


class IntegerFilter(django_filters.Filter):
    """A whole number within bounds; `0.5` is a fault, and not a filter that nothing passes."""

    field_class = _IntegerField  # type: ignore[assignment] # the library is not typed

    def __init__(self, *, min_value: int, max_value: int, **kwargs: Any) -> None:
        """Bound it."""
        super().__init__(min_value=min_value, max_value=max_value, **kwargs)  # type: ignore[no-untyped-call]


class _FlagField(NullBooleanField):
    def clean(self, value: Any) -> bool | None:  # noqa: ANN401 - the framework's signature
        if value is not None and value not in FLAGS:
            raise ValidationError("Write true or false.")
        return FLAGS.get(value)


class FlagFilter(django_filters.BooleanFilter):
    """`true` or `false`; anything else is a fault, not a filter that is quietly left out."""

    field_class = _FlagField

    def __init__(self, **kwargs: Any) -> None:
        """Take the two words."""
        super().__init__(**{"widget": TextInput, **kwargs})  # type: ignore[no-untyped-call]


class Filters(FilterSet):
    """The base of every filter set: what `Meta.fields` names is filtered strictly; foreign keys take ids.

    `weighs` names the filters that ask about the rows themselves before they can say which are meant.
    """

    weighs: ClassVar[frozenset[str]] = frozenset()

    FILTER_DEFAULTS = {
        **FilterSet.FILTER_DEFAULTS,
        models.CharField: {"filter_class": TextFilter},
        models.BooleanField: {"filter_class": FlagFilter},
        models.UUIDField: {"filter_class": IdFilter},
        models.ForeignKey: {"filter_class": IdFilter},
        models.OneToOneField: {"filter_class": IdFilter},
    }


class StrictFilterBackend(DjangoFilterBackend):
    """Applies the view's `filterset_class`; a query parameter that it does not declare is a fault."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: APIView) -> QuerySet[Any]:
        """Filter; InvalidInputError with every fault, each by the parameter's name."""
        filterset_class = self.get_filterset_class(view, queryset)  # type: ignore[no-untyped-call]
        pages = PARAMETERS if getattr(view, "paginator", None) else frozenset()
        other = pages | frozenset(getattr(view, "query_parameters", ()))
        if filterset_class is None or not request.query_params.keys() - other:
            refuse_unknown(request, other)
            return queryset
        filterset = filterset_class(request.query_params, queryset, request=request)
        misfits = [
            Fault(str(message), f"?{name}") for name, messages in filterset.errors.items() for message in messages
        ]
        refuse_unknown(request, other | filterset_class.base_filters.keys(), misfits)
        return cast("QuerySet[Any]", filterset.qs)


def refuse_unknown(request: Request, known: Set[str], faults: Sequence[Fault] = ()) -> None:
    """Raise InvalidInputError for parameters that are unknown, doubled or empty, and for `faults`."""
    found = list(faults)
    for name, values in request.query_params.lists():
        if name not in known:
            found.append(Fault("there is no such parameter here", f"?{name}", "unknown"))
        elif len(values) != 1 or not values[0]:
            found.append(Fault("give one value", f"?{name}"))
    if found:
        raise InvalidInputError("the query cannot be taken as it is", faults=found)
