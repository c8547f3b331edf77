"""Addresses of the pages of fitting."""

from django.urls.resolvers import URLPattern

app_name = "fitting"
urlpatterns: list[URLPattern] = []
