"""The places of the navigation that belong to gear itself."""

from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import WRITERS
from gearlife.domain.vocabulary import Role
from gearlife.web import taking_in
from gearlife.web.age import ALLOWED
from gearlife.web.registry import Place

PLACES = (
    Place(_("Today"), "gearlife:today", 0, every_day=True),
    Place(_("Gear"), "gearlife:gear", 30, every_day=True),
    Place(_("Take in"), "gearlife:take-in", 60, taking_in.READERS),
    Place(_("Game morning"), "gearlife:game-morning", 80),
    Place(_("Gear age"), "gearlife:age", 85, ALLOWED),
    # A coach reads the settings where a page leads there; the navigation of a phone at the field stays short.
    Place(_("Settings"), "gearlife:settings", 90, WRITERS | {Role.AUDITOR}),
)
