"""The addresses of inspections' part of the API."""

from django.urls import path

from gearlife.api.routing import Router
from inspections.api.air import AirOfModels, AirRecords
from inspections.api.checklists import Checklists
from inspections.api.damage_reports import DamageReports
from inspections.api.faceguards import Faceguards
from inspections.api.inspections import Inspections
from inspections.api.not_seen import NotSeenResource
from inspections.api.pad_changes import Configuration, PadChanges
from inspections.api.part_stock import PartStocks, StockEntries
from inspections.api.parts import ApprovedParts, PadPositions, PartPolicies
from inspections.api.sync import SyncChanges
from inspections.api.wear import Wear

OF_PARTS = (PadPositions, ApprovedParts, PadChanges, Faceguards, PartStocks, StockEntries, PartPolicies)
RESOURCES = (Checklists, Inspections, NotSeenResource, DamageReports, AirRecords, AirOfModels, *OF_PARTS)

urlpatterns = [
    path("sync/changes/", SyncChanges.as_view({"get": "changes"}), name="sync/changes"),
    path("items/<str:id>/wear/", Wear.as_view({"get": "wear"}, **Wear.wear.kwargs), name="items-wear"),
    path(
        "items/<str:id>/configuration/",
        Configuration.as_view({"get": "configuration"}, **Configuration.configuration.kwargs),
        name="items-configuration",
    ),
    *Router(*RESOURCES).urls,
]
