"""The template library `gear`: days, moments and lengths as the reader writes them, codes in words, ids of forms."""

import re
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.template import RequestContext
from django.urls import reverse
from django.utils import formats
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from gearlife.domain.errors import GearlifeError
from gearlife.domain.ids import uuid7
from gearlife.domain.lengths import in_units
from gearlife.domain.today import rules_of, without_rules
from gearlife.domain.vocabulary import Units
from gearlife.web.pages import words_of
from gearlife.web.registry import Place, places_for
from gearlife.web.words import words_for

register = template.Library()
ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")


@register.filter
def day(value: date | str | None) -> str:
    """A day in the reader's own way of writing; nothing for a day that nobody knows."""
    if isinstance(value, str):
        value = date.fromisoformat(value)
    return formats.date_format(value, "DATE_FORMAT") if value and value > date.min else _("not known")


@register.filter
def short_day(value: date) -> str:
    """A day in few characters."""
    return formats.date_format(value, "SHORT_DATE_FORMAT")


@register.filter
def moment(value: datetime, zone: str = "UTC") -> str:
    """A moment on a calendar (an IANA time zone)."""
    return formats.date_format(value.astimezone(ZoneInfo(zone)), "DATETIME_FORMAT")


@register.filter
def reason(because: str) -> str:
    """A recorded reason, its days as the reader writes them; the rule that it quotes is left to `rules`."""
    return dated(without_rules(because))


@register.filter
def dated(text: str) -> str:
    """A text whole, the days in it as the reader writes them."""
    return ISO_DAY.sub(_readable, text)


@register.filter
def rules(because: str) -> str:
    """The rules that a reason quotes, with their sources."""
    return rules_of(because)


def _readable(found: re.Match[str]) -> str:
    try:
        return day(found.group())
    except ValueError:
        return found.group()


@register.filter
def words(code: object, of: str = "") -> str:
    """The words for a code of the records; `of` names its list where another has the same code (`cause`)."""
    return words_for(str(code), of) if code else ""


@register.filter
def reasons(refused: GearlifeError) -> list[str]:
    """Every reason of a refusal."""
    return list(words_of(refused))


@register.simple_tag
def once() -> SafeString:
    """The id under which a form's act is done, once: a second tap or a reload does nothing again."""
    return format_html('<input type="hidden" name="id" value="{}">', uuid7())


@register.simple_tag(takes_context=True)
def length(context: RequestContext, millimetres: float | None) -> str:
    """A length in the reader's units, to a tenth; nothing for one that nobody took."""
    if millimetres is None:
        return ""
    units = Units(getattr(context["request"].user, "units", Units.INCHES))
    number = formats.number_format(in_units(millimetres, units), 1)
    return _("%(length)s in") % {"length": number} if units is Units.INCHES else _("%(length)s cm") % {"length": number}


@register.inclusion_tag("gearlife/places.html", takes_context=True)
def places(context: RequestContext) -> dict[str, Any]:
    """The navigation of whoever is signed in; the page that one is on, or below, is said."""
    page = context.get("page")
    shown = [_place(each, context["request"].path) for each in places_for(page.actor)] if page else []
    more = [each for each in shown if not each["every_day"]]
    return {
        "every_day": [each for each in shown if each["every_day"]],
        "more": more,
        "unfolded": any(each["here"] for each in more),
    }


def _place(place: Place, path: str) -> dict[str, Any]:
    address = reverse(place.url_name)
    here = path == address or (address != "/" and path.startswith(address))
    return {"text": place.text, "address": address, "here": here, "every_day": place.every_day}
