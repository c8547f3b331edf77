"""What Django itself refuses: a problem document below the API's addresses, a page elsewhere."""

from collections.abc import Callable
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.utils.module_loading import import_string

API = "/api/"


def _refuse(name: str, request: HttpRequest, **given: Exception) -> HttpResponse:
    edge = "gearlife.api.problems" if request.path.startswith(API) else "gearlife.web.wrong"
    view: Callable[..., HttpResponse] = import_string(f"{edge}.{name}")
    return view(request, **given)


bad_request = partial(_refuse, "bad_request")
permission_denied = partial(_refuse, "permission_denied")
not_found = partial(_refuse, "not_found")
server_error = partial(_refuse, "server_error")
