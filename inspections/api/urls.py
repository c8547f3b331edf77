"""The addresses of inspections' part of the API."""

from gearlife.api.routing import Router
from inspections.api.checklists import Checklists
from inspections.api.inspections import Inspections
from inspections.api.not_seen import NotSeenResource

RESOURCES = (Checklists, Inspections, NotSeenResource)

urlpatterns = [*Router(*RESOURCES).urls]
