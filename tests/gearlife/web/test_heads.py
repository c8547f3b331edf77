"""A HEAD is answered by the head alone: what a GET would say of itself, and not a byte of it (RFC 9110, section 9.3.2).

Asked of the application as a server asks it: the test client would take bodies away by itself.
"""

from collections.abc import Iterator
from typing import Any
from wsgiref.util import setup_testing_defaults

import pytest
from django.core.handlers.wsgi import WSGIHandler
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client

from gearlife.domain.vocabulary import Role
from tests import factories
from tests.pages import sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def one_connection() -> Iterator[None]:
    """A request does not close the connection whose transaction is the test's."""
    for each in (request_started, request_finished):
        each.disconnect(close_old_connections)
    yield
    for each in (request_started, request_finished):
        each.connect(close_old_connections)


def answered(method: str, address: str, cookies: str) -> tuple[str, dict[str, str], bytes]:
    """Status, headers and body as a server gets them."""
    environ: dict[str, Any] = {"REQUEST_METHOD": method, "PATH_INFO": address, "HTTP_COOKIE": cookies}
    setup_testing_defaults(environ)
    got: dict[str, Any] = {}

    def start_response(status: str, headers: list[tuple[str, str]], *_: object) -> Any:
        got.update(status=status, headers=dict(headers))

    answer = WSGIHandler()(environ, start_response)
    body = b"".join(answer)
    answer.close()
    return got["status"], got["headers"], body


@pytest.mark.parametrize("address", ["/", "/gear/csv/", "/nothing-here/", "/api/v1/items/", "/api/v1/nothing-here/"])
def test_a_head_has_no_body_and_tells_the_length_that_a_get_has(client: Client, address: str) -> None:
    sign_in(client, factories.person(Role.OFFICER, at=factories.ClubFactory.create()))
    cookies = "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())

    status, headers, body = answered("GET", address, cookies)
    assert body
    assert int(status[:3]) == (404 if "nothing" in address else 200)

    assert answered("HEAD", address, cookies)[::2] == (status, b"")
    assert answered("HEAD", address, cookies)[1].get("Content-Length") == headers.get("Content-Length")
