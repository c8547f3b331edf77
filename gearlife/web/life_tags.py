"""The template library `life`: an item's life strip, and the small one that stands beside an item in a list."""

from typing import Any

from django import template
from django.utils.translation import gettext_lazy as _

from gearlife.domain.mini_lives import TODAY, WIDTH, Mini

register = template.Library()

# How far the source of a rule was read, by its mark.
MARKS = {
    "V": _("read in its published source"),
    "V2": _("read second-hand, not in its source"),
    "M": _("from memory, not checked"),
    "P": _("common practice, no source"),
    "C": _("computed"),
}


@register.filter
def mark(code: str) -> str:
    """A rule's mark in words; one that is not known stays as it is."""
    return str(MARKS.get(code, code))


@register.inclusion_tag("gearlife/mini_life.html")
def mini_life(mini: Mini | None) -> dict[str, Any]:
    """The small strip of one item, of `mini_strips`; nothing for none."""
    return {"mini": mini, "width": WIDTH, "today": TODAY}
