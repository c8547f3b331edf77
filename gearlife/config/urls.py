"""The addresses of the project, wired by dotted strings only."""

from django.urls import include, path

urlpatterns = [
    path("", include("gearlife.api.home")),
    path("api/v1/", include("gearlife.api.urls")),
    path("api/v1/", include("fitting.api.urls")),
    path("api/v1/", include("inspections.api.urls")),
]
handler400 = "gearlife.api.problems.bad_request"
handler403 = "gearlife.api.problems.permission_denied"
handler404 = "gearlife.api.problems.not_found"
handler500 = "gearlife.api.problems.server_error"
