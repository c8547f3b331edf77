"""The addresses of fitting's pages."""

from django.urls import path

from fitting.web.charts import Chart, Charts, PlayerSizes
from fitting.web.counted_gear import GiveBack, HandOutCounted
from fitting.web.fits import FitPage, PlayerChanged, Refit
from fitting.web.gear_out import GearOut, GearOutFile
from fitting.web.handing_out import HandOut
from fitting.web.lending import Lend
from fitting.web.loaners import SetUpLoaner
from fitting.web.loans import Loans
from fitting.web.measuring import Measurements, MeasureTeam, Measuring
from fitting.web.persons import ExportPerson, RemovePerson
from fitting.web.plans import OnePlan, Plans
from fitting.web.players import AddPlayer, ChangePlayer, OnePlayer, PlayerHandOut, Players
from fitting.web.receipts import OneReceipt, ReceiptOfPlayer
from fitting.web.replacing import Replace
from fitting.web.retention import ChangeRetention, Retention
from fitting.web.taking_back import TakeBack

app_name = "fitting"
urlpatterns = [
    path("players/", Players.as_view(), name="players"),
    path("players/new/", AddPlayer.as_view(), name="player-new"),
    path("players/<uuid:id>/", OnePlayer.as_view(), name="player"),
    path("players/<uuid:id>/change/", ChangePlayer.as_view(), name="player-change"),
    path("players/<uuid:id>/export/", ExportPerson.as_view(), name="player-export"),
    path("players/<uuid:id>/remove/", RemovePerson.as_view(), name="player-remove"),
    path("players/<uuid:id>/hand-out/", PlayerHandOut.as_view(), name="player-hand-out"),
    path("players/<uuid:id>/counted/", HandOutCounted.as_view(), name="player-counted"),
    path("players/<uuid:id>/give-back/", GiveBack.as_view(), name="player-give-back"),
    path("players/<uuid:id>/receipt/", ReceiptOfPlayer.as_view(), name="player-receipt"),
    path("receipts/<uuid:id>/", OneReceipt.as_view(), name="receipt"),
    path("out/", GearOut.as_view(), name="gear-out"),
    path("out/csv/", GearOutFile.as_view(), name="gear-out-csv"),
    path("loans/", Loans.as_view(), name="loans"),
    path("loans/lend/", Lend.as_view(), name="lend"),
    path("gear/<uuid:id>/loaner/", SetUpLoaner.as_view(), name="loaner"),
    path("players/<uuid:id>/changed/", PlayerChanged.as_view(), name="player-changed"),
    path("gear/<uuid:id>/fit/", Refit.as_view(), name="refit"),
    path("gear/<uuid:id>/fit/<uuid:player>/", FitPage.as_view(), name="fit"),
    path("players/<uuid:id>/measurements/", Measurements.as_view(), name="measurements"),
    path("players/<uuid:id>/sizes/", PlayerSizes.as_view(), name="player-sizes"),
    path("measuring/", Measuring.as_view(), name="measuring"),
    path("measuring/<uuid:team>/", MeasureTeam.as_view(), name="measure-team"),
    path("charts/", Charts.as_view(), name="charts"),
    path("charts/<uuid:model>/", Chart.as_view(), name="chart"),
    path("settings/retention/", Retention.as_view(), name="retention"),
    path("settings/retention/<uuid:id>/", ChangeRetention.as_view(), name="retention-change"),
    path("plan/", Plans.as_view(), name="plans"),
    path("plan/<uuid:id>/", OnePlan.as_view(), name="plan"),
    path("gear/<uuid:id>/hand-out/", HandOut.as_view(), name="hand-out"),
    path("gear/<uuid:id>/take-back/", TakeBack.as_view(), name="take-back"),
    path("gear/<uuid:id>/replace/", Replace.as_view(), name="replace"),
]
