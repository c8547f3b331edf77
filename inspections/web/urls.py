"""Addresses of the pages of inspections."""

from django.urls import path

from inspections.web.clipboard import Clipboard
from inspections.web.from_paper import FromPaper
from inspections.web.look import Look
from inspections.web.rounds import Round, Rounds
from inspections.web.take_off import TakeOff

app_name = "inspections"
urlpatterns = [
    path("check/", Rounds.as_view(), name="rounds"),
    path("check/item/<uuid:id>/", Look.as_view(), name="look"),
    path("check/item/<uuid:id>/off/", TakeOff.as_view(), name="off"),
    path("check/<uuid:team>/", Round.as_view(), name="round"),
    path("check/<uuid:team>/clipboard/", Clipboard.as_view(), name="clipboard"),
    path("check/<uuid:team>/from-paper/", FromPaper.as_view(), name="from-paper"),
]
