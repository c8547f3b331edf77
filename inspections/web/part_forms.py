"""Fields that forms about parts share."""

from math import isfinite

from django.utils.translation import gettext as _

from gearlife.web.typed import Typed
from inspections.domain.parts import THICKEST_MM


def thickness_of(typed: Typed, text: str, name: str = "thickness_mm") -> float | None:
    """A thickness in millimetres, with a point or a comma; None when nothing was typed."""
    if not text:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    if not isfinite(value) or not 0 <= value <= THICKEST_MM:
        typed.fault(name, _("The thickness is a number of millimetres, at most %(most)s.") % {"most": THICKEST_MM})
        return None
    return value
