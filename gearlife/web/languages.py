"""Pages follow the reader's language; the API's answers do not."""

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.middleware.locale import LocaleMiddleware
from django.utils import translation

API = "/api/"


class PagesLocaleMiddleware(LocaleMiddleware):
    """Days, numbers and words as the browser's `Accept-Language` has them; a program gets the same ones everywhere."""

    def process_request(self, request: HttpRequest) -> None:
        """Choose the language of a page; the thread may have the one of the reader before."""
        if request.path.startswith(API):
            translation.activate(settings.LANGUAGE_CODE)
        else:
            super().process_request(request)

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        """Say which it was."""
        return response if request.path.startswith(API) else super().process_response(request, response)
