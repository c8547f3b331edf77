"""The addresses of gearlife's part of the API."""

from django.urls import path

from gearlife.api.alerts import Alerts
from gearlife.api.audits import AgeAudit, LimitAudit
from gearlife.api.catalogue import Manufacturers, Models
from gearlife.api.certifications import Certifications
from gearlife.api.health import Live, Ready, SweepHealth
from gearlife.api.intakes import Intakes
from gearlife.api.items import Items
from gearlife.api.memberships import Memberships
from gearlife.api.organisations import Clubs, Organisations, Seasons, Teams
from gearlife.api.photos import Photos
from gearlife.api.policy import PolicyRules
from gearlife.api.routing import Router
from gearlife.api.schema import SchemaView

RESOURCES = (
    Organisations,
    Clubs,
    Teams,
    Seasons,
    Memberships,
    Manufacturers,
    Models,
    Items,
    Certifications,
    PolicyRules,
    Alerts,
    Photos,
    Intakes,
)
AUDITS = {"audits/age": AgeAudit, "audits/certification": LimitAudit}
WATCHES = {"health/live": Live, "health/ready": Ready, "health/sweep": SweepHealth}

urlpatterns = [
    path("schema/", SchemaView.as_view(), name="schema"),
    *(path(f"{name}/", view.as_view(), name=name) for name, view in WATCHES.items()),
    # Probes are often configured without the last slash; the document shows each once.
    *(path(name, view.as_view(schema=None)) for name, view in WATCHES.items()),
    *(path(f"{name}/", view.as_view({"get": "audit"}), name=name) for name, view in AUDITS.items()),
    *Router(*RESOURCES).urls,
]
