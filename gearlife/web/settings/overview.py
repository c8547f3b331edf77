"""What can be set, each with one sentence of how it is now."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gearlife.domain.access import READERS, Actor, Stamp
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import AccessToken, Club, GearModel, Season, Team, User
from gearlife.queries.rules import rules_of
from gearlife.web.pages import Context
from gearlife.web.settings.setting import READ_BY_PEOPLE_WHO_SEE_ALL, Setting
from gearlife.web.tags import day as day_in_words


@dataclass(frozen=True)
class Part:
    """One thing that can be set: its name, its page, how it is now, and who reads it."""

    text: str | Promise
    url_name: str
    now: Callable[[Actor, Stamp], str]
    roles: frozenset[Role] = READERS


_more: list[Part] = []


def register_settings(*parts: Part) -> None:
    """Add what a package above lets be set; it does so in its `AppConfig.ready`."""
    _more.extend(parts)


class Settings(Setting):
    """`/settings/`."""

    template = "gearlife/settings/overview.html"
    title = gettext_lazy("Settings")

    def context(self) -> Context:
        """Every part that the actor may read."""
        stamp = self.stamp()
        parts = [
            {"text": part.text, "url_name": part.url_name, "now": part.now(self.actor, stamp)}
            for part in (*PARTS, *_more)
            if self.actor.may_be(*part.roles)
        ]
        return {"parts": parts}


def _rules(actor: Actor, stamp: Stamp) -> str:
    in_force = [each for each in rules_of(actor, stamp.day) if each.in_force]
    own = sum(not each.is_default for each in in_force)
    said = ngettext("%(n)s rule limits the gear today", "%(n)s rules limit the gear today", len(in_force))
    more = ngettext("%(n)s of them is your own", "%(n)s of them are your own", own) if own else _("none is your own")
    return f"{said % {'n': len(in_force)}}; {more % {'n': own} if own else more}."


def _models(actor: Actor, stamp: Stamp) -> str:
    models = GearModel.objects.visible_to(actor)
    known = models.count()
    unstated = models.filter(kind=Kind.HELMET.value, certification_interval_months=None).count()
    said = ngettext("%(n)s model is known", "%(n)s models are known", known) % {"n": known}
    if not unstated:
        return f"{said}."
    words = ngettext(
        "of %(n)s model of helmets no interval is recorded",
        "of %(n)s models of helmets no interval is recorded",
        unstated,
    )
    return f"{said}; {words % {'n': unstated}}."


def _seasons(actor: Actor, stamp: Stamp) -> str:
    ahead = Season.objects.visible_to(actor).filter(ends_on__gte=stamp.day).order_by("ends_on")
    first = {season.club_id: season.ends_on for season in reversed(ahead)}
    without = [club.name for club in Club.objects.visible_to(actor).order_by("name") if club.id not in first]
    if without:
        return _("No season entered for today or later: %(clubs)s.") % {"clubs": ", ".join(without)}
    if not first:
        return _("No club yet, and so no season.")
    return _("The next last game is on %(day)s.") % {"day": day_in_words(min(first.values()))}


def _clubs(actor: Actor, stamp: Stamp) -> str:
    clubs, teams = Club.objects.visible_to(actor).count(), Team.objects.visible_to(actor).count()
    told = ngettext("%(n)s club", "%(n)s clubs", clubs) % {"n": clubs}
    return _("%(clubs)s with %(teams)s.") % {
        "clubs": told,
        "teams": ngettext("%(n)s team", "%(n)s teams", teams) % {"n": teams},
    }


def _people(actor: Actor, stamp: Stamp) -> str:
    if not actor.sees_every_club:
        return _("Your own account and its roles.")
    people = User.objects.visible_to(actor).filter(is_device=False, is_active=True)
    known, silent = people.count(), people.filter(email="").count()
    said = ngettext("%(n)s person has an account", "%(n)s people have an account", known) % {"n": known}
    more = ngettext("%(n)s has no mail address", "%(n)s have no mail address", silent) % {"n": silent}
    return f"{said}; {more}." if silent else f"{said}."


def _devices(actor: Actor, stamp: Stamp) -> str:
    tokens = AccessToken.objects.visible_to(actor).filter(
        revoked_at=None, expires_at__gt=stamp.at, user__is_active=True
    )
    ends = list(tokens.order_by("expires_at").values_list("expires_at", flat=True)[:1])
    if not ends:
        return _("No token counts now.")
    number = tokens.count()
    said = ngettext("%(n)s token counts now", "%(n)s tokens count now", number) % {"n": number}
    return _("%(said)s; the next one ends on %(day)s.") % {"said": said, "day": day_in_words(ends[0].date())}


PARTS = (
    Part(gettext_lazy("Rules"), "gearlife:rules", _rules),
    Part(gettext_lazy("What the makers state"), "gearlife:models", _models),
    Part(gettext_lazy("Seasons"), "gearlife:seasons", _seasons),
    Part(gettext_lazy("Clubs and teams"), "gearlife:clubs", _clubs),
    Part(gettext_lazy("People"), "gearlife:people", _people),
    Part(gettext_lazy("Devices and programs"), "gearlife:devices", _devices, READ_BY_PEOPLE_WHO_SEE_ALL),
)
