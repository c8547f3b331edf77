"""What was tapped or typed about one cell's air."""

from collections.abc import Mapping
from typing import Any

from django.http import QueryDict
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.vocabulary import Units
from inspections.domain.air_records import BOUNDS, Act, Felt, Measured
from inspections.domain.air_units import UNITS, in_kept_unit

LABELS: Mapping[str, str | Promise] = {
    "pressure_kpa": gettext_lazy("The gauge reads now"),
    "temperature_c": gettext_lazy("Temperature of the helmet"),
    "elevation_m": gettext_lazy("Height above the sea"),
    "barometric_kpa": gettext_lazy("or what a barometer reads here"),
}
OURS = {"pressure_kpa": "psi", "temperature_c": "°F", "elevation_m": "ft", "barometric_kpa": "inHg"}
MOST_STROKES = int(BOUNDS["strokes"][1])


def numbers_asked(units: Units, typed: QueryDict | None) -> list[dict[str, Any]]:
    """The fields for whoever has a gauge, in the reader's units or in those that were typed."""
    asked = []
    for name, known in UNITS.items():
        usual = OURS[name] if units is Units.INCHES else next(iter(known))
        sent = (typed.get(name, ""), typed.get(f"{name}.unit", "")) if typed else ("", usual)
        asked.append({"name": name, "label": LABELS[name], "units": list(known), "value": sent[0], "unit": sent[1]})
    return asked


def felt_of(typed: QueryDict) -> Felt | None:
    """The word that was tapped; None where a gauge's form says what was done."""
    word = typed.get("felt") or ""
    if not word:
        return None
    try:
        return Felt(word)
    except ValueError as error:
        raise InvalidInputError.at("/felt", _("Tap one of the three: firm, air added, will not hold.")) from error


def act_of(typed: QueryDict) -> Act | None:
    """What was done by the gauge's form; None where a word was tapped."""
    word = typed.get("act") or ""
    if not word:
        return None
    try:
        return Act(word)
    except ValueError as error:
        raise InvalidInputError.at("/act", _("Say what was done: read, air added, or air released.")) from error


def measured_of(typed: QueryDict) -> Measured:
    """The numbers as they are kept; InvalidInputError with every one that cannot be read."""
    faults: list[Fault] = []
    numbers = {name: _number(typed, name, faults) for name in UNITS}
    strokes = _strokes(typed.get("strokes") or "", faults)
    if faults:
        raise InvalidInputError(faults[0].detail, faults=faults)
    return Measured(**numbers, strokes=strokes)


def _number(typed: QueryDict, name: str, faults: list[Fault]) -> float | None:
    text = typed.get(name) or ""
    if not text.strip():
        return None
    try:
        return in_kept_unit(text, name, typed.get(f"{name}.unit") or "")
    except ValueError:
        told = {"field": LABELS[name], "text": text}
        faults.append(Fault(_("%(field)s: %(text)s is no number.") % told, f"/{name}", "number"))
        return None


def _strokes(text: str, faults: list[Fault]) -> int | None:
    if not text.strip():
        return None
    if not (text.strip().isascii() and text.strip().isdigit() and len(text.strip()) <= len(str(MOST_STROKES))):
        words = _("Strokes of the pump: write a whole number up to %(most)s.") % {"most": MOST_STROKES}
        faults.append(Fault(words, "/strokes", "number"))
        return None
    return int(text)
