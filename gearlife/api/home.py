"""Where a program begins: the root of all versions of the API."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

WORDS = """Gearlife: records of football helmets and shoulder pads by serial number.

The API is below {api}, its description at {schema} (OpenAPI 3.1).
Send a bearer token: Authorization: Bearer ...
"""


def home(request: HttpRequest) -> HttpResponse:
    """Say where the API is."""
    schema = request.build_absolute_uri(reverse("schema"))
    words = WORDS.format(api=schema.removesuffix("schema/"), schema=schema)
    return HttpResponse(words, content_type="text/plain; charset=utf-8")


urlpatterns = [path("api/", home, name="home")]
