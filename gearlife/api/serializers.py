"""Bodies in: every fault found at once, unknown names refused, references only to what the actor may see."""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from math import isfinite
from typing import Any, ClassVar, cast
from uuid import UUID

from django.db.models import Model
from django.http import QueryDict
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from gearlife.api.reading import given_actor, given_by, kept, sight_of
from gearlife.domain.access import Actor
from gearlife.domain.days import read_moment
from gearlife.domain.partial_dates import PartialDate
from gearlife.models import compiled as given
from gearlife.models.compiled import Statement

LONGEST_LIST = 500
FIRST_DAY = "^(19|[2-9][0-9])[0-9]{2}-"
_UUID = re.compile(r"[0-9a-f]{8}-([0-9a-f]{4}-){3}[0-9a-f]{12}", re.IGNORECASE)


def read_uuid(text: object) -> UUID | None:
    """An id in its one written form (RFC 9562, section 4); None for anything else."""
    return UUID(text) if isinstance(text, str) and _UUID.fullmatch(text) else None


class StrictListSerializer(serializers.ListSerializer[Any]):
    """A list of bodies, at most `max_length` long (500 unless told)."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Bound the list."""
        super().__init__(*args, **{"max_length": LONGEST_LIST, **kwargs})


class StrictSerializer(serializers.Serializer[Any]):
    """A body: undeclared names are faults. `changing` makes every member of the top level optional."""

    class Meta:
        list_serializer_class: ClassVar[type[StrictListSerializer]] = StrictListSerializer

    def __init__(self, *args: Any, changing: bool = False, **kwargs: Any) -> None:
        """Read a whole body, or only what changes."""
        self.changing = changing
        super().__init__(*args, **kwargs)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """The declared fields; in a change none is required and none has a default."""
        fields = super().get_fields()
        if self.changing:
            for each in fields.values():
                each.required = False
                each.default = serializers.empty
        return fields

    def to_internal_value(self, data: Any) -> dict[str, Any]:  # noqa: ANN401 - what a client sent
        """Read every member; ValidationError holds all faults of all of them."""
        unknown = set(data) - set(self.fields) if isinstance(data, Mapping) else set()
        faults: Any = {name: [ErrorDetail("this name is not known here", "unknown")] for name in unknown}
        faults |= _wrong_types(data, self.fields)
        try:
            read = super().to_internal_value(data)
        except ValidationError as error:
            raise ValidationError(dict(cast("dict[str, Any]", error.detail)) | faults) from None
        if faults:
            raise ValidationError(faults)
        return dict(read)


def _is_whole(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and float(value).is_integer()


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


# What the framework would read kindly: a number as text, the word `yes` as true, the text `7` as a number.
_JSON_TYPES: Sequence[tuple[type[serializers.Field[Any, Any, Any, Any]], Callable[[object], bool], str]] = (
    (serializers.BooleanField, lambda value: isinstance(value, bool), "write true or false"),
    (serializers.CharField, lambda value: isinstance(value, str), "write it as text, in quotation marks"),
    (serializers.FloatField, _is_number, "write a number, without quotation marks"),
    (serializers.IntegerField, _is_whole, "write a whole number, without quotation marks"),
)


def _wrong_types(data: object, fields: Mapping[str, Any]) -> dict[str, Any]:
    """Members of a JSON body that are of another type than their field; a form's are all text."""
    if not isinstance(data, dict) or isinstance(data, QueryDict):
        return {}
    wrong = {name: _wrong_type(data.get(name), field) for name, field in fields.items()}
    return {name: faults for name, faults in wrong.items() if faults}


def _wrong_type(value: object, field: object) -> Any:  # noqa: ANN401 - faults, by their places where it is a list
    if isinstance(field, serializers.ListField) and isinstance(value, list):
        elements = {index: _wrong_type(element, field.child) for index, element in enumerate(value)}
        return {index: faults for index, faults in elements.items() if faults}
    for kind, fits, words in _JSON_TYPES:
        if value is not None and isinstance(field, kind) and not fits(value):
            return [ErrorDetail(words, "type")]
    return []


@extend_schema_field({"type": "string", "pattern": r"^\d{4}(-\d{2}(-\d{2})?)?$", "example": "2021-03"})
class PartialDateField(serializers.Field[PartialDate, str, str, Any]):
    """A year, a month or a day (EDTF level 0) as text; gives a PartialDate."""

    default_error_messages: ClassVar[dict[str, Any]] = {"partial_date": "{reason}"}

    def to_internal_value(self, data: str) -> PartialDate:
        """Read it; ValidationError says how to write it."""
        if not isinstance(data, str):
            self.fail("partial_date", reason="write a year, a month or a day as text: 2021, 2021-03 or 2021-03-09")
        try:
            return PartialDate.parse(data)
        except ValueError as error:
            self.fail("partial_date", reason=str(error))

    def to_representation(self, value: PartialDate) -> str:
        """Write it as EDTF."""
        return str(value)


class AwareDateTimeField(serializers.DateTimeField):
    """A moment as RFC 3339 writes it; one without its offset is a fault. Gives the moment in UTC."""

    default_error_messages: ClassVar[dict[str, Any]] = {
        "moment": "write a moment with its offset, as 2026-09-14T18:30:00+02:00 or 2026-09-14T16:30:00Z"
    }

    def to_internal_value(self, value: str | datetime) -> datetime:
        """Read it; ValidationError when it is no moment."""
        moment = read_moment(value) if isinstance(value, str) else None
        if moment is None:
            self.fail("moment")
        return moment


class DayField(serializers.DateField):
    """A day as ISO 8601 writes it, from 1900 on."""

    default_error_messages: ClassVar[dict[str, Any]] = {"day": "write a day as 2026-09-14, not before 1900"}

    def to_internal_value(self, value: Any) -> date:  # noqa: ANN401 - what a client sent
        """Read it; ValidationError when it is no day."""
        if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d\d-\d\d", value, re.ASCII):
            self.fail("day")
        try:
            day = date.fromisoformat(value)
        except ValueError:
            self.fail("day")
        if day.year < 1900:  # noqa: PLR2004 - said in the message
            self.fail("day")
        return day


@extend_schema_field(OpenApiTypes.UUID)
class Reference(serializers.Field[Any, str, str, Any]):
    """The id of a row that the actor may see; gives the row. A foreign row and none at all read alike."""

    default_error_messages: ClassVar[dict[str, Any]] = {"unknown_id": "there is no such {what} that you may see"}

    def __init__(self, model: type[Model], *, select: tuple[str, ...] = (), **kwargs: Any) -> None:
        """`select` names relations to be fetched along."""
        self.model = model
        self.select = select
        super().__init__(**kwargs)

    def to_internal_value(self, data: str) -> Any:  # noqa: ANN401 - a row of `model`
        """Fetch it through the doorway of its model."""
        id_ = read_uuid(data)
        found = self._found(self.context["actor"], id_) if id_ else []
        if not found:
            self.fail("unknown_id", what=self.model._meta.verbose_name)
        return found[0]

    def _found(self, actor: Actor, id_: UUID) -> list[Any]:
        """The row, by the doorway's question as it was compiled for whoever sees as far."""
        statement = kept((type(self), self.model, self.select, sight_of(actor)), lambda: self._statement(actor))
        return statement.instances(**given_by(actor), id=id_)

    def _statement(self, actor: Actor) -> Statement:
        return Statement(self.through(given_actor(actor)).select_related(*self.select).filter(id=given.one_id("id")))

    def through(self, actor: Actor) -> Any:  # noqa: ANN401 - a queryset of `model`
        """The doorway that the row is fetched through."""
        return self.model.objects.visible_to(actor)  # type: ignore[attr-defined]

    def to_representation(self, value: Model) -> str:
        """Write its id."""
        return str(value.pk)


@extend_schema_field(OpenApiTypes.UUID)
class Reportable(Reference):
    """The id of a row that the actor may name in a report of damage, also where it may not be read."""

    def through(self, actor: Actor) -> Any:  # noqa: ANN401 - a queryset of `model`
        """What may be reported, or shown by who reports."""
        return self.model.objects.reportable_by(actor)  # type: ignore[attr-defined]
