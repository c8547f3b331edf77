"""Addresses of the pages of inspections."""

from django.urls.resolvers import URLPattern

app_name = "inspections"
urlpatterns: list[URLPattern] = []
