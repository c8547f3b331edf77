"""The template library `life`: an item's life strip, and the small one that stands beside an item in a list."""

from typing import Any

from django import template
from django.utils.translation import gettext_lazy as _

from gearlife.domain.clocks import UNKNOWN_DATE
from gearlife.domain.mini_lives import TODAY, WIDTH, Mini
from gearlife.domain.vocabulary import Effect, HoldEndsBy
from gearlife.web.words import words_for

register = template.Library()

# How far the source of a rule was read, by its mark.
MARKS = {
    "V": _("read in its published source"),
    "V2": _("read second-hand, not in its source"),
    "M": _("from memory, not checked"),
    "P": _("common practice, no source"),
    "C": _("computed"),
}
# Whose act ends a hold, or what must come before anybody's.
ENDS_BY = {
    HoldEndsBy.OFFICER: _("an equipment manager"),
    HoldEndsBy.NAMED_PERSON: _("the person named on it, and nobody else"),
    HoldEndsBy.CRACK_RULE: _("the rule for suspected shell cracks"),
    HoldEndsBy.FULL_INSPECTION: _("an equipment manager, after a full inspection"),
}


@register.filter
def ends_by(code: str) -> str:
    """Whose act ends a hold, in words."""
    return str(ENDS_BY[HoldEndsBy(code)])


@register.filter
def limit_name(code: str) -> str:
    """What a limit is called; the one that an unknown day of manufacture makes is called by what is missing."""
    return str(_("date of manufacture")) if code == UNKNOWN_DATE else words_for(code)


# What a limit does from the day on which it falls.
EFFECTS = {
    Effect.STOP: _("must not be worn from then"),
    Effect.NO_ISSUE: _("not to be handed out from then"),
    Effect.WARN: _("a warning"),
}


@register.filter
def from_then(code: str) -> str:
    """What a limit does once it has fallen, in words."""
    return str(EFFECTS[Effect(code)])


@register.filter
def mark(code: str) -> str:
    """A rule's mark in words; one that is not known stays as it is."""
    return str(MARKS.get(code, code))


@register.inclusion_tag("gearlife/mini_life.html")
def mini_life(mini: Mini | None) -> dict[str, Any]:
    """The small strip of one item, of `mini_strips`; nothing for none."""
    return {"mini": mini, "width": WIDTH, "today": TODAY}
