"""Addresses of the pages of inspections."""

from django.urls import path

from inspections.web.air import AirCheck, AirRound
from inspections.web.clipboard import Clipboard
from inspections.web.damage_reports import Report, Reports
from inspections.web.from_paper import FromPaper
from inspections.web.look import Look
from inspections.web.model_air import ModelsAir
from inspections.web.part_lists import ModelParts, UnapprovedParts
from inspections.web.part_stock import ClubGuards, ClubParts, OneGuard, Parts
from inspections.web.parts import ChangePart
from inspections.web.reporting import ReportDamage
from inspections.web.rounds import Round, Rounds
from inspections.web.take_off import TakeOff

app_name = "inspections"
urlpatterns = [
    path("check/", Rounds.as_view(), name="rounds"),
    path("check/item/<uuid:id>/", Look.as_view(), name="look"),
    path("check/item/<uuid:id>/air/", AirCheck.as_view(), name="air"),
    path("check/<uuid:team>/air/", AirRound.as_view(), name="air-round"),
    path("check/item/<uuid:id>/off/", TakeOff.as_view(), name="off"),
    path("check/<uuid:team>/", Round.as_view(), name="round"),
    path("check/<uuid:team>/clipboard/", Clipboard.as_view(), name="clipboard"),
    path("damage/", Reports.as_view(), name="damage"),
    path("damage/report/", ReportDamage.as_view(), name="report-damage"),
    path("damage/report/<uuid:item>/", ReportDamage.as_view(), name="report-damage-of"),
    path("damage/<uuid:report>/", Report.as_view(), name="damage-report"),
    path("check/<uuid:team>/from-paper/", FromPaper.as_view(), name="from-paper"),
    path("gear/<uuid:id>/parts/<uuid:position>/", ChangePart.as_view(), name="change-part"),
    path("parts/", Parts.as_view(), name="parts"),
    path("parts/<uuid:club>/", ClubParts.as_view(), name="club-parts"),
    path("parts/<uuid:club>/faceguards/", ClubGuards.as_view(), name="club-guards"),
    path("faceguards/<uuid:guard>/", OneGuard.as_view(), name="faceguard"),
    path("settings/models/<uuid:model>/air/", ModelsAir.as_view(), name="model-air"),
    path("settings/models/<uuid:model>/parts/", ModelParts.as_view(), name="model-parts"),
    path("settings/unapproved-parts/", UnapprovedParts.as_view(), name="unapproved-parts"),
]
