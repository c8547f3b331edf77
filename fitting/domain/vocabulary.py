"""The words of fitting."""

from enum import StrEnum


class RecordedAs(StrEnum):
    """Whether the gate let the item go, or it was worn already when the record was made."""

    ISSUED = "issued"
    ALREADY_WORN = "already_worn"


class MeasurementKind(StrEnum):
    """What was measured."""

    HEAD_CIRCUMFERENCE = "head_circumference"
    CHEST_CIRCUMFERENCE = "chest_circumference"
    SHOULDER_WIDTH = "shoulder_width"


class BodyChange(StrEnum):
    """What somebody reports of a player that no tape has measured."""

    HAIRCUT = "haircut"
    WEIGHT = "weight"
