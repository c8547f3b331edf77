"""HEAD: the head alone (RFC 9110, section 9.3.2).

The server passes on what it is given. A body that nobody expects would be read as the next answer on the same
connection.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase, StreamingHttpResponse


class HeadMiddleware:
    """Leaves out the body of the answer to a HEAD; its head says what a GET would get, its length too."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        """Keep what comes next."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Pass on, and empty the answer."""
        answer = self.get_response(request)
        if request.method == "HEAD":
            empty(answer)
        return answer


def empty(answer: HttpResponseBase) -> None:
    """Take the body away, and nothing else."""
    if isinstance(answer, StreamingHttpResponse):
        answer.streaming_content = ()
    else:
        answer.content = b""  # type: ignore[attr-defined]  # every answer that is not streamed has one
