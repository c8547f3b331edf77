"""A demo taken in once for all; each module looks at a copy of its own, so that no story disturbs another."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser import served
from tests.browser.served import Demo, Looking


@pytest.fixture(scope="session")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a demo that has been taken in and has stopped."""
    folder = tmp_path_factory.mktemp("demo")
    with served.demo(folder):
        pass
    return folder


@pytest.fixture(scope="module")
def demo(loaded: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """The demo, running, as it is at its first start."""
    with served.demo(served.copied(loaded, tmp_path_factory.mktemp("served"))) as running:
        yield running


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The machine's Chromium."""
    with served.browser() as running:
        yield running


@pytest.fixture
def phone(browser: Browser, demo: Demo) -> Iterator[Looking]:
    """A browser as wide as a small phone, with touch."""
    with served.looking(browser, demo, served.PHONE, has_touch=True, is_mobile=True) as look:
        yield look


@pytest.fixture
def laptop(browser: Browser, demo: Demo) -> Iterator[Looking]:
    """A browser on a laptop."""
    with served.looking(browser, demo, served.LAPTOP) as look:
        yield look
