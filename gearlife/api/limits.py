"""Bodies that are too large are refused by their announced length, before one byte of them is read."""

from collections.abc import Callable
from dataclasses import replace

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse

from gearlife.api.problems import Problem

# Elsewhere the refusal is a page, which Django's own handler makes.
API = "/api/"


class BodyLimitMiddleware:
    """Answers 413 to a body over the limit: one for files (multipart), a smaller one for everything else."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Keep what comes next."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Refuse or pass on."""
        multipart = (request.content_type or "").startswith("multipart/")
        most: int = settings.UPLOAD_MAX_BYTES if multipart else settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        announced = request.META.get("CONTENT_LENGTH") or "0"
        if announced.isdecimal() and int(announced) > most:
            if not request.path.startswith(API):
                raise RequestDataTooBig("the form is too large")
            words = f"The body is larger than this address takes: at most {most // 1024 // 1024} MB."
            return replace(Problem.plain(413), detail=words).response()
        return self.get_response(request)
