"""The cautions, whole."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views import View

from gearlife.domain.cautions import CAUTIONS


class Cautions(View):
    """What these records can do and what they cannot; for everybody, signed in or not."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show them."""
        return render(request, "gearlife/cautions.html", {"heading": _("Cautions"), "cautions": CAUTIONS})
