"""The words of fitting."""

from collections.abc import Mapping, Sequence
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


class ChartMeasure(StrEnum):
    """What a row of a maker's chart is about: something that is measured, or the weight."""

    HEAD_CIRCUMFERENCE = "head_circumference"
    CHEST_CIRCUMFERENCE = "chest_circumference"
    SHOULDER_WIDTH = "shoulder_width"
    WEIGHT = "body_weight"


class Protocol(StrEnum):
    """Where the tape lay. Numbers of two protocols are not compared silently: sources differ in the place."""

    FINGER_ABOVE_BROWS = "finger_above_brows"
    BROWS_AND_EARS = "brows_and_ears"
    LARGEST_GIRTH = "largest_girth"
    FULLEST_CHEST = "fullest_chest"
    HIGH_UNDER_ARMS = "high_under_arms"
    TIP_TO_TIP = "tip_to_tip"
    JOINT_TO_JOINT = "joint_to_joint"


class Tape(StrEnum):
    """The tape; one that stretches tells less."""

    CLOTH = "cloth"
    STEEL = "steel"
    PAPER = "paper"
    STRETCHING = "stretching"


# The first is what a form offers to whoever has not measured before. Those of head and shoulders are in published
# advice, the chest's are common practice, without a source.
PROTOCOLS: Mapping[MeasurementKind, Sequence[Protocol]] = {
    MeasurementKind.HEAD_CIRCUMFERENCE: (
        Protocol.FINGER_ABOVE_BROWS,
        Protocol.BROWS_AND_EARS,
        Protocol.LARGEST_GIRTH,
    ),
    MeasurementKind.CHEST_CIRCUMFERENCE: (Protocol.FULLEST_CHEST, Protocol.HIGH_UNDER_ARMS),
    MeasurementKind.SHOULDER_WIDTH: (Protocol.TIP_TO_TIP, Protocol.JOINT_TO_JOINT),
}


class PlanState(StrEnum):
    """How far a plan has come; a large one waits for a worker, to be made and to be applied."""

    WAITING = "waiting"
    MADE = "made"
    APPLYING = "applying"
    APPLIED = "applied"
    FAILED = "failed"


class PlanOutcome(StrEnum):
    """What a plan says of one player and one kind of gear."""

    PLANNED = "planned"
    SHORT = "short"
    HAS_ONE = "has_one"
    NO_MEASUREMENT = "no_measurement"
    NO_CHART = "no_chart"
    NO_SIZE = "no_size"
    OTHER_LEVEL = "other_level"


class LineState(StrEnum):
    """What became of a line when its plan was applied; `put_back` was set aside and is no longer."""

    OPEN = "open"
    SET_ASIDE = "set_aside"
    NOT_VALID = "not_valid"
    PUT_BACK = "put_back"


class SetAsideEnds(StrEnum):
    """What ended a set-aside: the item was handed out, another was set aside for the player, or it was put back."""

    HANDED_OUT = "handed_out"
    ANOTHER = "another"
    PUT_BACK = "put_back"


class LoanerEnds(StrEnum):
    """What ended that an item is a loaner: it was set up anew, or is none any more."""

    ANEW = "anew"
    NO_LOANER = "no_loaner"
