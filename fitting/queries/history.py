"""What an item's history says of assignments, in words; of players it knows ids alone."""

from fitting.domain.parts import named
from fitting.domain.vocabulary import LoanerEnds, SetAsideEnds
from gearlife.queries.history import Facts, Words


def _with_condition(words: str, facts: Facts) -> str:
    return f"{words}; condition: {facts['condition']}." if facts["condition"] else f"{words}."


def _issued(facts: Facts) -> str:
    return _with_condition(f"{'Lent' if facts['loan'] else 'Issued'} to a player", facts)


def _returned(facts: Facts) -> str:
    missing = named(facts.get("missing", ()))
    return _with_condition("No longer with the player" + (f", without {', '.join(missing)}" if missing else ""), facts)


def _counted(words: str) -> Words:
    def told(facts: Facts) -> str:
        return f"{words}: {facts['count']} {facts['kind'].replace('_', ' ')}."

    return told


def _found_worn(facts: Facts) -> str:
    words = "Recorded as worn by a player already"
    if facts["could_not_be_issued"]:
        against = ", ".join(code.replace("_", " ") for code in facts["against"])
        words += f", and it could not have been issued ({against})"
    return _with_condition(words, facts)


def _fitted(facts: Facts) -> str:
    tries = f", {facts['tries']} tries" if facts["tries"] > 1 else ""
    return f"Fitted on a player{tries}: {'accepted' if facts['accepted'] else 'not accepted'} by whoever fitted it."


def _player_changed(_: Facts) -> str:
    return "A change of a player was reported."


def _set_aside_ended(facts: Facts) -> str:
    return SET_ASIDE_ENDS[facts["ended_by"]]


SET_ASIDE_ENDS = {
    SetAsideEnds.HANDED_OUT: "No longer set aside: gear was handed out.",
    SetAsideEnds.ANOTHER: "No longer set aside: the player gets another one.",
    SetAsideEnds.PUT_BACK: "No longer set aside: it was put back.",
}
LOANER_ENDS = {
    LoanerEnds.ANEW: "What it was set up for before was ended.",
    LoanerEnds.NO_LOANER: "No loaner any more.",
}
WORDS: dict[str, Words] = {
    "issued": _issued,
    "returned": _returned,
    "found_worn": _found_worn,
    "fitted": _fitted,
    "retention": lambda facts: f"Kept no longer: {facts['number']} of {facts['of'].replace('_', ' ')}.",
    "retention_changed": lambda facts: f"How long {facts['of'].replace('_', ' ')} are kept was changed.",
    "person_exported": lambda _: "A person's data were given out.",
    "person_removed": lambda _: "A person was removed; the gear's history stays.",
    "player_changed": _player_changed,
    "loaner_set_up": lambda _: "Set up as a loaner, for a band of sizes.",
    "loaner_ended": lambda facts: LOANER_ENDS[facts["ended_by"]],
    "set_aside": lambda _: "Set aside for a player by a plan.",
    "set_aside_ended": _set_aside_ended,
    "counted_handed_out": _counted("Handed out to a player"),
    "counted_returned": _counted("Given back by a player"),
    "counted_lost": _counted("Lost by a player"),
    "receipt_made": lambda _: "A receipt was made of it.",
    "receipt_acknowledged": lambda _: "Its receipt was acknowledged.",
}
