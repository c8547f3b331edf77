"""Every text of the pages can be translated, and none of them calls an item good."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
TEMPLATES = sorted(
    path for package in ("gearlife", "fitting", "inspections") for path in ROOT.glob(f"{package}/web/**/*.html")
)
SOURCES = sorted(
    path for package in ("gearlife", "fitting", "inspections") for path in ROOT.glob(f"{package}/web/**/*.py")
)
# What a reader is told by an attribute.
SPOKEN = {"alt", "title", "aria-label", "placeholder", "aria-description"}
GIVEN = re.compile(
    r"{% *(block)?translate\b.*?%}(.*?{% *endblocktranslate *%})?|{% *comment.*?endcomment *%}|{#.*?#}|{%.*?%}|{{.*?}}",
    re.DOTALL,
)
# The name of the program is the same everywhere; units and figures are no words.
NO_WORDS = re.compile(r"Gearlife|\bCSV\b|\bmm\b|\bcm\b|\bin\b|&\w+;|[^A-Za-z]+")
GOOD = re.compile(
    r"\b(?:is|are|looks?|it's) (?:safe|fine|good|okay|sound|clear|ok)\b|\bOK\b|\ball clear\b|\bgood to go\b|\bcleared\b"
    r"|\bpassed\b|\bapproved for\b|\bfit for use\b|\bsafe to\b",
    re.IGNORECASE,
)


class _Words(HTMLParser):
    """The texts of a template that no translation goes through."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self._silent += tag in {"script", "style"}
        self.found += [value or "" for name, value in attributes if name in SPOKEN]

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in {"script", "style"}

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.found.append(data)


def untranslated(template: str) -> list[str]:
    reader = _Words()
    reader.feed(GIVEN.sub(" ", template))
    return [text.strip() for text in reader.found if NO_WORDS.sub("", text)]


def test_the_check_itself_finds_a_text_that_was_forgotten() -> None:
    assert untranslated("<p>Held {{ day }}</p>") == ["Held"]
    assert untranslated('<a title="Look">{% translate "Look" %}</a>') == ["Look"]
    assert untranslated("{% blocktranslate %}Held since {{ day }}{% endblocktranslate %} · 12 mm") == []
    assert GOOD.search("It is safe to wear.")


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_every_text_of_a_template_can_be_translated(path: Path) -> None:
    assert untranslated(path.read_text()) == []


@pytest.mark.parametrize("path", [*TEMPLATES, *SOURCES], ids=lambda path: path.name)
def test_no_text_calls_an_item_good(path: Path) -> None:
    assert [found.group() for found in GOOD.finditer(path.read_text())] == []
