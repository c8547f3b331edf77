"""The addresses of inspections' part of the API."""

from django.urls import path

from gearlife.api.routing import Router
from inspections.api.air import AirOfModels, AirRecords
from inspections.api.checklists import Checklists
from inspections.api.inspections import Inspections
from inspections.api.not_seen import NotSeenResource
from inspections.api.sync import SyncChanges
from inspections.api.wear import Wear

RESOURCES = (Checklists, Inspections, NotSeenResource, AirRecords, AirOfModels)

urlpatterns = [
    path("sync/changes/", SyncChanges.as_view({"get": "changes"}), name="sync/changes"),
    path("items/<str:id>/wear/", Wear.as_view({"get": "wear"}, **Wear.wear.kwargs), name="items-wear"),
    *Router(*RESOURCES).urls,
]
