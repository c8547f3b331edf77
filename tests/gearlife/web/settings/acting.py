"""Fill in a page's form and send it, as a person does."""

from typing import Any

from django.test import Client

from tests.pages import Form, forms


def form_of(answer: Any, method: str = "post") -> Form:
    """The page's last form of this method: what comes before it are filters."""
    return [form for form in forms(answer) if form.method == method][-1]


def send(client: Client, path: str, **typed: Any) -> Any:
    """Open the page, change what is named in its form, and send it."""
    form = form_of(client.get(path))
    return client.post(form.action or path, form.fields | typed)


def look(client: Client, path: str, **typed: Any) -> Any:
    """Open a page whose form is looked at first, change what is named, and ask what it would do."""
    form = form_of(client.get(path), "get")
    return client.get(form.action or path, form.fields | typed)
