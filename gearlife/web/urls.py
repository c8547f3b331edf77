"""Addresses of the pages of gear."""

from django.urls import path

from gearlife.web.cautions import Cautions
from gearlife.web.sign_in import sign_in, sign_out

app_name = "gearlife"
urlpatterns = [
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-out/", sign_out, name="sign-out"),
    path("cautions/", Cautions.as_view(), name="cautions"),
]
