"""The nearest known name: only ever a hint to whoever reads the report."""

from collections.abc import Iterable

from rapidfuzz import process
from rapidfuzz.distance import OSA

from gearlife.domain.normal_form import normal_form

# Below this a name in the same file is another name, not a slip of the pen: common practice, no source.
CLOSE = 0.6


def nearest(name: str, known: Iterable[str], *, at_least: float = 0.0) -> str | None:
    """The known name with the fewest slips between it and `name`; None when there is none of that likeness."""
    found = process.extractOne(
        name, sorted(known), processor=normal_form, scorer=OSA.normalized_similarity, score_cutoff=at_least
    )
    return found[0] if found else None


def nearest_words(name: str, known: Iterable[str], beside: Iterable[str] = ()) -> str:
    """`: nearest known 'X'`; where nothing known is close, a close name of the same file; empty without either."""
    known = list(known)
    if close := nearest(name, known, at_least=CLOSE):
        return f": nearest known '{close}'"
    others = [other for other in beside if normal_form(other) != normal_form(name)]
    if close := nearest(name, others, at_least=CLOSE):
        return f": nearest in this file '{close}'"
    far = nearest(name, known)
    return f": nearest known '{far}'" if far else ""
