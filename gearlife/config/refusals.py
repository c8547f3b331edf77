"""What Django itself refuses: a problem document below the API's addresses, a page elsewhere."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.module_loading import import_string

API = "/api/"


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's own 400."""
    return _edge(request, "bad_request")(request, exception)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's own 403."""
    return _edge(request, "permission_denied")(request, exception)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """An address that does not exist, and a row that is absent or foreign."""
    return _edge(request, "not_found")(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """The unforeseen."""
    return _edge(request, "server_error")(request)


def _edge(request: HttpRequest, name: str) -> Callable[..., HttpResponse]:
    edge = "gearlife.api.problems" if request.path.startswith(API) else "gearlife.web.wrong"
    refuse: Callable[..., HttpResponse] = import_string(f"{edge}.{name}")
    return refuse
