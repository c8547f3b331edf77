"""The template library `life`: an item's life strip, and the small one that stands beside an item in a list."""

from typing import Any

from django import template

from gearlife.domain.mini_lives import TODAY, WIDTH, Mini

register = template.Library()


@register.inclusion_tag("gearlife/mini_life.html")
def mini_life(mini: Mini | None) -> dict[str, Any]:
    """The small strip of one item, of `mini_strips`; nothing for none."""
    return {"mini": mini, "width": WIDTH, "today": TODAY}
