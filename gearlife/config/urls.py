"""The addresses of the project, wired by dotted strings only."""

from django.urls import include, path

urlpatterns = [
    path("", include("gearlife.api.home")),
    path("", include("gearlife.web.urls")),
    path("", include("fitting.web.urls")),
    path("", include("inspections.web.urls")),
    path("api/v1/", include("gearlife.api.urls")),
    path("api/v1/", include("fitting.api.urls")),
    path("api/v1/", include("inspections.api.urls")),
]
handler400 = "gearlife.config.refusals.bad_request"
handler403 = "gearlife.config.refusals.permission_denied"
handler404 = "gearlife.config.refusals.not_found"
handler500 = "gearlife.config.refusals.server_error"
