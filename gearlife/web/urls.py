"""Addresses of the pages of gear."""

from django.urls import path

from gearlife.web.age import AgeFile, Ages
from gearlife.web.alerts import Acknowledge, PutOff, Told
from gearlife.web.cautions import Cautions
from gearlife.web.game_morning import GameMorning
from gearlife.web.gear import Gear, GearFile
from gearlife.web.item import ItemLife
from gearlife.web.item_acts import CertifyItem, FoundItem, MissingItem, StopItem
from gearlife.web.item_ends import CorrectRetirement, EndHold, RetireItem
from gearlife.web.item_facts import AddItem, ChangeItem
from gearlife.web.matters import Matters
from gearlife.web.settings.urls import urlpatterns as settings
from gearlife.web.sign_in import SignIn, SignOut, UnsentPage
from gearlife.web.taking_in import Headings, Look, MarkedCopy, TakeIn, TakenIn
from gearlife.web.today import Today
from gearlife.web.you import NewPassword, You

app_name = "gearlife"
urlpatterns = [
    path("", Today.as_view(), name="today"),
    path("game-morning/", GameMorning.as_view(), name="game-morning"),
    path("matters/", Matters.as_view(), name="matters"),
    path("alerts/<uuid:id>/acknowledge/", Acknowledge.as_view(), name="acknowledge"),
    path("alerts/<uuid:id>/put-off/", PutOff.as_view(), name="put-off"),
    path("gear/<uuid:id>/told/", Told.as_view(), name="told"),
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-in/unsent/", UnsentPage.as_view(), name="unsent"),
    path("sign-out/", SignOut.as_view(), name="sign-out"),
    path("settings/you/", You.as_view(), name="you"),
    path("settings/you/password/", NewPassword.as_view(), name="new-password"),
    path("age/", Ages.as_view(), name="age"),
    path("age/csv/", AgeFile.as_view(), name="age-csv"),
    path("cautions/", Cautions.as_view(), name="cautions"),
    path("take-in/", TakeIn.as_view(), name="take-in"),
    path("take-in/headings.csv", Headings.as_view(), name="headings"),
    path("take-in/file/<uuid:file>/", Look.as_view(), name="file-in-hand"),
    path("take-in/file/<uuid:file>/marked.csv", MarkedCopy.as_view(), name="marked-copy"),
    path("take-in/<uuid:id>/", TakenIn.as_view(), name="intake"),
    path("gear/", Gear.as_view(), name="gear"),
    path("gear/csv/", GearFile.as_view(), name="gear-csv"),
    path("gear/new/", AddItem.as_view(), name="item-new"),
    path("gear/<uuid:id>/change/", ChangeItem.as_view(), name="item-change"),
    path("gear/<uuid:id>/", ItemLife.as_view(), name="item"),
    path("gear/<uuid:id>/stop/", StopItem.as_view(), name="stop"),
    path("gear/<uuid:id>/release/<uuid:hold>/", EndHold.as_view(), name="release"),
    path("gear/<uuid:id>/retire/", RetireItem.as_view(), name="retire"),
    path("gear/<uuid:id>/correct-retirement/", CorrectRetirement.as_view(), name="correct-retirement"),
    path("gear/<uuid:id>/missing/", MissingItem.as_view(), name="missing"),
    path("gear/<uuid:id>/found/", FoundItem.as_view(), name="found"),
    path("gear/<uuid:id>/certify/", CertifyItem.as_view(), name="certify"),
    *settings,
]
