"""Addresses of the pages of inspections."""

from django.urls import path

from inspections.web.clipboard import Clipboard
from inspections.web.damage_reports import Report, Reports
from inspections.web.from_paper import FromPaper
from inspections.web.look import Look
from inspections.web.reporting import ReportDamage
from inspections.web.rounds import Round, Rounds
from inspections.web.take_off import TakeOff

app_name = "inspections"
urlpatterns = [
    path("check/", Rounds.as_view(), name="rounds"),
    path("check/item/<uuid:id>/", Look.as_view(), name="look"),
    path("check/item/<uuid:id>/off/", TakeOff.as_view(), name="off"),
    path("check/<uuid:team>/", Round.as_view(), name="round"),
    path("check/<uuid:team>/clipboard/", Clipboard.as_view(), name="clipboard"),
    path("damage/", Reports.as_view(), name="damage"),
    path("damage/report/", ReportDamage.as_view(), name="report-damage"),
    path("damage/report/<uuid:item>/", ReportDamage.as_view(), name="report-damage-of"),
    path("damage/<uuid:report>/", Report.as_view(), name="damage-report"),
    path("check/<uuid:team>/from-paper/", FromPaper.as_view(), name="from-paper"),
]
