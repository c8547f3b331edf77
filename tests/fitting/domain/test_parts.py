"""Parts that gear comes back without."""

from fitting.domain.parts import PARTS, named, unknown
from gearlife.domain.vocabulary import Kind


def test_a_part_of_pads_is_no_part_of_a_helmet() -> None:
    assert unknown(Kind.HELMET, ["jaw_pad", "strap_or_belt"]) == ["strap_or_belt"]


def test_parts_are_named_in_the_lists_order_and_those_that_stop_by_themselves() -> None:
    assert named(["bag", "jaw_pad"]) == ["jaw pad", "bag"]
    assert named(["bag", "jaw_pad"], stopping=True) == ["jaw pad"]


def test_what_a_weekly_look_stops_for_stops_here_too() -> None:
    """The grades of the product's contract: clip or screw missing, jaw pad or liner part missing stop."""
    stopping = {part.code for part in PARTS[Kind.HELMET] if part.stops}
    assert {"clip_or_screw", "jaw_pad", "liner_part", "faceguard", "chin_strap"} <= stopping
