"""Signing in and out."""

from django.contrib.auth.views import LoginView, LogoutView
from django.utils.translation import gettext_lazy as _

sign_in = LoginView.as_view(
    template_name="gearlife/sign_in.html", next_page="/", extra_context={"heading": _("Sign in")}
)
sign_out = LogoutView.as_view(next_page="gearlife:sign-in")
