"""What an item's history says of pads and parts, in words."""

from datetime import datetime

from gearlife.domain.device_clocks import words
from gearlife.queries.history import Facts, Words
from inspections.domain.parts import part_words


def _pad_changed(facts: Facts) -> str:
    what = part_words(facts["part"], facts["size"], facts["thickness_mm"], facts.get("faceguard_label", ""))
    if not facts["part"]:
        said = f"{facts['position']}: {'nothing is in it' if facts['as_found'] else 'taken out'}."
    else:
        said = f"{facts['position']}: {what} {'found in it' if facts['as_found'] else 'put in'}."
    unapproved = "" if facts["approved"] else " The maker's list does not have it."
    return f"{said}{unapproved}{_clock(facts)}"


def _clock(facts: Facts) -> str:
    if "device_at" not in facts:
        return ""
    return f" Note: {words(datetime.fromisoformat(facts['device_at']), facts['clock_ahead_seconds'])}."


WORDS: dict[str, Words] = {
    "pad_changed": _pad_changed,
    "faceguard_left": lambda facts: f"Its faceguard {facts['faceguard_label']} went to another helmet.",
    "position_added": lambda facts: f"Position {facts['label']} entered for a model.",
    "position_changed": lambda facts: f"Position {facts['label']} of a model changed.",
    "position_removed": lambda facts: f"Position {facts['label']} of a model removed.",
    "part_approved": lambda facts: f"{facts['part']} entered in a maker's list.",
    "part_struck": lambda facts: f"{facts['part']} struck from a maker's list.",
    "faceguard_added": lambda facts: f"Faceguard {facts['label']} taken in.",
    "faceguard_changed": lambda _: "More was recorded of a faceguard.",
    "parts_delivered": lambda facts: f"{facts['count']} of {facts['part']} delivered.",
    "parts_counted": lambda facts: f"{facts['count']} of {facts['part']} counted.",
    "unapproved_parts_decided": lambda facts: (
        f"Decided that an unapproved part {'holds its item' if facts['hold_unapproved'] else 'is only noted'}: "
        f"{facts['reason']}"
    ),
}
