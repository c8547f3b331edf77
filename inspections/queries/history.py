"""What an item's history says of inspections, in words."""

from gearlife.queries.history import Facts, Words


def _inspected(facts: Facts) -> str:
    how = "Looked over" if facts["depth"] == "look" else "Inspected in full"
    found = "; ".join(facts["findings"]) or "nothing found"
    missed = ", ".join(point.replace("_", " ") for point in facts["not_looked_at"])
    return f"{how}: {found}{f'; not looked at: {missed}' if missed else ''}."


WORDS: dict[str, Words] = {
    "inspected": _inspected,
    "not_seen": lambda _: "Not there when it was looked for; it stays due.",
}
