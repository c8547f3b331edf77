"""How members and parameters are told: as narrowly as they are read, so that a reader may trust it."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.forms import Field, IntegerField
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import Direction
from rest_framework import serializers

from gearlife.api.serializers import FIRST_DAY, DayField

# RFC 9562, section 5.7.
UUID7 = "^[0-9a-fA-F]{8}-[0-9a-fA-F]{4}-7[0-9a-fA-F]{3}-[89abAB][0-9a-fA-F]{3}-[0-9a-fA-F]{12}$"
NEW_ID = {"type": "string", "format": "uuid", "pattern": UUID7}
# Blanks around a text are dropped before it is looked at.
NOT_BLANK = r"\S"


class MemberSchema(AutoSchema):
    """Adds to every member of a body and every filter what the framework's reading of it leaves out."""

    def _map_serializer_field(
        self,
        field: Any,  # noqa: ANN401 - any field of a serializer
        direction: Direction,
        bypass_extensions: bool = False,  # noqa: FBT001, FBT002 - the library's signature
    ) -> Any:  # noqa: ANN401 - a schema or nothing
        schema = super()._map_serializer_field(field, direction, bypass_extensions)  # type: ignore[no-untyped-call]
        return {**bounds_of(field), **schema} if schema and direction == "request" else schema

    def _get_filter_parameters(self) -> list[dict[str, Any]]:
        parameters: list[dict[str, Any]] = super()._get_filter_parameters()  # type: ignore[no-untyped-call]
        filters = getattr(getattr(self.view, "filterset_class", None), "base_filters", {})
        for parameter in parameters:
            if each := filters.get(parameter["name"]):
                told = parameter["schema"] | bounds_of_filter(each.field)
                parameter["schema"] = {name: value for name, value in told.items() if value is not None}
        return parameters

    def _resolve_path_parameters(self, variables: list[str]) -> list[dict[str, Any]]:
        parameters: list[dict[str, Any]] = super()._resolve_path_parameters(variables)  # type: ignore[no-untyped-call]
        for parameter in parameters:
            parameter["schema"] = NEW_ID if self.method == "PUT" else {"type": "string", "format": "uuid"}
        return parameters


def bounds_of(field: Any) -> dict[str, Any]:  # noqa: ANN401 - any field of a serializer
    """What is asked of a member beyond its type."""
    match field:
        case DayField():
            return {"pattern": FIRST_DAY}
        case serializers.ListSerializer() | serializers.ListField():
            shortest = getattr(field, "min_length", None) or int(not field.allow_empty)
            bounds = {"maxItems": getattr(field, "max_length", None), "minItems": shortest}
            return {name: bound for name, bound in bounds.items() if bound}
        case serializers.CharField() if field.trim_whitespace and not field.allow_blank:
            has_own = any(isinstance(validator, RegexValidator) for validator in field.validators)
            return {} if has_own else {"pattern": NOT_BLANK}
    return {}


def bounds_of_filter(field: Field) -> dict[str, Any]:
    """What is asked of a query parameter beyond its type: never empty, and within its bounds."""
    # The library's guess of a number's width would follow the database: the bounds say all there is.
    bounds: dict[str, Any] = {"type": "integer", "format": None} if isinstance(field, IntegerField) else {}
    if longest := getattr(field, "max_length", None):
        bounds |= {"minLength": 1, "maxLength": longest}
    for validator in field.validators:
        if isinstance(validator, MinValueValidator | MaxValueValidator):
            name = "minimum" if isinstance(validator, MinValueValidator) else "maximum"
            bounds[name] = validator.limit_value
    return bounds
