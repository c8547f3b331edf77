"""The history of one item in words, told from the ledger and from nothing else."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any
from uuid import UUID

from gearlife.domain.vocabulary import LabelYearMeans
from gearlife.models import User
from gearlife.queries.ledger import events_of

Facts = Mapping[str, Any]
Words = Callable[[Facts], str]
Row = dict[str, Any]

LABEL_YEAR = {
    LabelYearMeans.WORK: "the year of the work",
    LabelYearMeans.SEASON: "the season certified for",
    LabelYearMeans.UNKNOWN: "whose meaning is not known",
}
# Values of these are ids: that they changed is said, not what they are.
LINKS = frozenset({"model", "club", "team"})


def history_of(item_id: UUID, organisation_id: UUID) -> list[Row]:
    """Every event of the item, oldest first: seq, at, actor's user name, action, words, facts."""
    events = list(events_of(item_id, organisation_id))
    names = _usernames({str(event["actor"]) for event in events if event["actor"]})
    return [_row(event, names) for event in events]


def register_words(words: Mapping[str, Words]) -> None:
    """Add sentences for the actions that a package above records; it does so in its `AppConfig.ready`."""
    _words.update(words)


def in_words(action: str, facts: Facts) -> str:
    """One event as a sentence; an action without words of its own is told with its facts."""
    told = _words.get(action)
    if told:
        return told(facts)
    more = "; ".join(f"{_spaced(name)} {value}" for name, value in facts.items() if _is_plain(value))
    return f"{_spaced(action).capitalize()}{f': {more}' if more else ''}."


def _row(event: Mapping[str, Any], names: Mapping[str, str]) -> Row:
    actor = names.get(str(event["actor"]))
    words = in_words(event["action"], event["facts"])
    return {name: event[name] for name in ("seq", "at", "action", "facts")} | {"actor": actor, "words": words}


def _usernames(ids: Iterable[str]) -> dict[str, str]:
    users = User.objects.filter(id__in=[UUID(text) for text in ids]).values_list("id", "username")
    return {str(id_): username for id_, username in users}


def _spaced(word: str) -> str:
    return word.replace("_", " ")


def _is_plain(value: object) -> bool:
    """Whether a fact is worth saying: something recorded that is not an id."""
    if value in ("", None):
        return False
    try:
        UUID(str(value))
    except ValueError:
        return not isinstance(value, dict | list)
    return False


def _registered(facts: Facts) -> str:
    name = f"serial {facts['serial']}" if facts["serial"] else f"tag {facts['tag']}, no maker serial"
    made = f"made {facts['made_on']}" if facts["made_on"] else "date of manufacture not known"
    size = [f"size {facts['size']}"] if facts["size"] else []
    return f"Registered: {', '.join([_spaced(facts['kind']), name, *size, made])}."


def _changed(facts: Facts) -> str:
    return " ".join(f"{_spaced(name).capitalize()} {_change(name, value)}." for name, value in facts.items())


def _change(name: str, value: Any) -> str:  # noqa: ANN401 - a value of canonical JSON
    if name in LINKS or not isinstance(value, list):
        return "changed"
    before, after = (", ".join(map(str, part)) if isinstance(part, list) else part for part in value)
    return (
        f"changed from {'nothing' if before in ('', None) else before} to {'nothing' if after in ('', None) else after}"
    )


def _held(facts: Facts) -> str:
    return f"Held from {facts['starts_on']}: {facts['reason']}"


def _released(facts: Facts) -> str:
    ground = _spaced(facts["basis"])
    words = f"Hold of {facts['starts_on']} ended ({ground}): {facts['release_reason'].rstrip('.')}."
    return f"{words} It was: {facts['reason']}"


def _release_proposed(facts: Facts) -> str:
    return (
        f"End of the hold of {facts['starts_on']} proposed, to be agreed by a second person: {facts['proposed_reason']}"
    )


def _certified(facts: Facts) -> str:
    when = f"on {facts['certified_on']}"
    if not facts["certified_on"]:
        when = f"by a label of {facts['label_year']} ({LABEL_YEAR[LabelYearMeans(facts['label_year_means'])]})"
    firm = f" by {facts['firm']}" if facts["firm"] else ""
    return f"{_spaced(facts['kind']).capitalize()} {when}{firm} recorded; it counts from {facts['counts_from']}."


def _retired(facts: Facts) -> str:
    return f"Retired on {facts['on']}: {facts['reason']}"


def _reopened(facts: Facts) -> str:
    ended = "the retirement that ended this hold was a mistake"
    return f"Held again from {facts['starts_on']}, for {ended}: {facts['reason']}"


def _correction_proposed(facts: Facts) -> str:
    meant = f" Serial {facts['right_serial']} was meant." if facts["right_serial"] else ""
    return (
        f"Correction of the retirement on {facts['retired_on']} proposed, to be agreed by a second person: "
        f"{facts['proposed_reason'].rstrip('.')}.{meant}"
    )


def _retirement_corrected(facts: Facts) -> str:
    return (
        f"The retirement on {facts['retired_on']} was a mistake, a second person agrees: "
        f"{facts['agreed_reason'].rstrip('.')}. It had been retired for: {facts['retired_reason']}"
    )


_words: dict[str, Words] = {
    "registered": _registered,
    "changed": _changed,
    "held": _held,
    "held_many": lambda facts: f"Held {facts['held']} items by the notice {facts['reference']}: {facts['reason']}",
    "released": _released,
    "release_proposed": _release_proposed,
    "certified": _certified,
    "retired": _retired,
    "reopened": _reopened,
    "held_again": lambda facts: f"Held again from {facts['starts_on']}: {facts['reason']}",
    "retirement_correction_proposed": _correction_proposed,
    "retirement_corrected": _retirement_corrected,
    "photo_kept": lambda _: "A photograph was kept; nothing of the original but its pixels.",
    "marked_missing": lambda _: "Marked missing.",
    "found": lambda _: "Found; it wants a full inspection before it goes out again.",
}
