"""Pages as a reader has them: the words that are seen, the links, the fields of the forms."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.test import Client

from gearlife.models import User

TICKED = {"checkbox", "radio"}
UNSEEN = {"script", "style", "head", "template"}


@dataclass
class Form:
    """One form: where it goes, how, and what it would send as it stands."""

    action: str
    method: str
    fields: dict[str, Any] = field(default_factory=dict)


class _Reader(HTMLParser):
    """Reads a page once; what a `head` or a script holds is not seen."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.links: dict[str, str] = {}
        self.forms: list[Form] = []
        self._unseen = 0
        self._link: tuple[str, list[str]] | None = None
        self._select = self._textarea = ""

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attributes}
        if tag in UNSEEN:
            self._unseen += 1
        elif tag == "a" and "href" in given:
            self._link = (given["href"], [])
        elif tag == "form":
            self.forms.append(Form(given.get("action", ""), given.get("method", "get").lower()))
        elif self.forms:
            self._field(tag, given)

    def _field(self, tag: str, given: dict[str, str]) -> None:
        fields = self.forms[-1].fields
        if tag == "select":
            self._select = given.get("name", "")
        elif tag == "option" and self._select and ("selected" in given or self._select not in fields):
            # The first one stands until one is selected, even where it is the empty one.
            fields[self._select] = given.get("value", "")
        elif tag == "textarea":
            self._textarea = given.get("name", "")
            fields[self._textarea] = ""
        elif tag == "input" and given.get("name") and (given.get("type") not in TICKED or "checked" in given):
            fields[given["name"]] = given.get("value", "on" if given.get("type") == "checkbox" else "")

    def handle_endtag(self, tag: str) -> None:
        if tag in UNSEEN:
            self._unseen -= 1
        elif tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._textarea = ""
        elif tag == "a" and self._link:
            self.links[" ".join("".join(self._link[1]).split())] = self._link[0]
            self._link = None

    def handle_data(self, data: str) -> None:
        if self._unseen:
            return
        self.words.append(data)
        if self._link:
            self._link[1].append(data)
        if self._textarea and self.forms:
            self.forms[-1].fields[self._textarea] += data


def sign_in(client: Client, user: User) -> Client:
    """The client with a session of this user."""
    client.force_login(user)
    return client


def _read(response: Any) -> _Reader:
    reader = _Reader()
    reader.feed(response.content.decode())
    return reader


def seen(response: Any) -> str:
    """The visible words, blanks made single."""
    return " ".join(" ".join(_read(response).words).split())


def links(response: Any) -> dict[str, str]:
    """Addresses by the words of the link."""
    return _read(response).links


def forms(response: Any) -> list[Form]:
    """Every form of the page, in order."""
    return _read(response).forms


def fields(response: Any, action: str = "") -> dict[str, Any]:
    """What the page's form (the one whose address ends so) would send as it stands."""
    posted = [form for form in forms(response) if form.method == "post" and form.action.endswith(action)]
    return posted[0].fields if posted else {}
