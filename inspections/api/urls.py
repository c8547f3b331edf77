"""The addresses of inspections' part of the API."""

from gearlife.api.routing import Router
from inspections.api.checklists import Checklists
from inspections.api.inspections import Inspections

RESOURCES = (Checklists, Inspections)

urlpatterns = [*Router(*RESOURCES).urls]
