"""What an item's history says of inspections, in words."""

from datetime import datetime

from gearlife.domain.device_clocks import words
from gearlife.queries.history import Facts, Words
from inspections.domain.air_records import cell_words, said
from inspections.domain.vocabulary import Grade

PASSED = (Grade.NOTHING_FOUND, Grade.WEAR)


def _inspected(facts: Facts) -> str:
    how = "Looked over" if facts["depth"] == "look" else "Inspected in full"
    found = "; ".join(facts["findings"]) or "nothing found"
    missed = ", ".join(point.replace("_", " ") for point in facts["not_looked_at"])
    return f"{how}: {found}{f'; not looked at: {missed}' if missed else ''}.{_clock(facts)}"


def _air(facts: Facts) -> str:
    cell = cell_words(facts["cell"])
    told = f"Air, {cell}: {said(facts['act'], facts['felt'])}"
    if facts["pressure_kpa"] is not None:
        told += f", the gauge read {float(facts['pressure_kpa']):g} kPa"
    if facts["temperature_c"] is not None:
        told += f" at {float(facts['temperature_c']):g} °C"
    grade = "" if facts["counts_as"] in PASSED else f" ({facts['counts_as']})"
    return f"{told}{grade}.{_clock(facts)}"


def _clock(facts: Facts) -> str:
    if "device_at" not in facts:
        return ""
    return f" Note: {words(datetime.fromisoformat(facts['device_at']), facts['clock_ahead_seconds'])}."


def _reported(facts: Facts) -> str:
    photos = len(facts["photos"])
    shown = f", with {photos} photograph{'' if photos == 1 else 's'}" if photos else ""
    raised = (
        "" if facts["severity"] == facts["counts_as"] else f"; by what was written it counts as {facts['counts_as']}"
    )
    return f"Damage was reported as {SEEN_AS[facts['severity']]}{shown}{raised}."


SEEN_AS = {"minor": "minor", "unsure": "of doubtful weight", "dangerous": "dangerous"}

WORDS: dict[str, Words] = {
    "air_recorded": _air,
    "air_stated": lambda _: "What the maker states of its model's air was recorded.",
    "inspected": _inspected,
    "damage_reported": _reported,
    "damage_linked": lambda _: "A damage report that named no known gear was said to be about this item.",
    "damage_under_review": lambda _: "Somebody took up the damage report.",
    "damage_confirmed": lambda _: "The reported damage was confirmed; it wants a full inspection.",
    "damage_dismissed": lambda _: "The damage report was dismissed; its own hold ended, and no other.",
    "not_seen": lambda facts: f"Not there when it was looked for; it stays due.{_clock(facts)}",
}
