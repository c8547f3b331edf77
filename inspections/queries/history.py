"""What an item's history says of inspections, in words."""

from datetime import datetime

from gearlife.domain.device_clocks import words
from gearlife.queries.history import Facts, Words


def _inspected(facts: Facts) -> str:
    how = "Looked over" if facts["depth"] == "look" else "Inspected in full"
    found = "; ".join(facts["findings"]) or "nothing found"
    missed = ", ".join(point.replace("_", " ") for point in facts["not_looked_at"])
    return f"{how}: {found}{f'; not looked at: {missed}' if missed else ''}.{_clock(facts)}"


def _clock(facts: Facts) -> str:
    if "device_at" not in facts:
        return ""
    return f" Note: {words(datetime.fromisoformat(facts['device_at']), facts['clock_ahead_seconds'])}."


WORDS: dict[str, Words] = {
    "inspected": _inspected,
    "not_seen": lambda facts: f"Not there when it was looked for; it stays due.{_clock(facts)}",
}
