"""A file with mistakes, on a phone: each at its row, the copy to mend, the doubtful ones stopped, what came of it."""

from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import FilePayload

from tests.browser.crawling import faults
from tests.browser.served import Looking

UNTIDY = Path(settings.FIXTURES_DIR) / "sample_untidy_gear.csv"
HEADINGS = "serial,kind,manufacturer,model,size,made_on\n"


def send(look: Looking, content: bytes) -> None:
    """Send a file by the page."""
    look.go("/take-in/")
    look.page.get_by_label("File", exact=True).set_input_files(
        FilePayload(name="gear.csv", mimeType="text/csv", buffer=content)
    )
    look.page.get_by_role("button", name="See what it would do").click()
    look.page.get_by_role("heading", name="What this file would do").wait_for()


@pytest.fixture
def officer(phone: Looking) -> Looking:
    phone.sign_in("officer")
    return phone


def test_mistakes_are_seen_at_their_rows_and_the_copy_to_mend_names_them(officer: Looking) -> None:
    send(officer, UNTIDY.read_bytes())
    row = officer.page.get_by_role("row").filter(has=officer.page.get_by_role("rowheader", name="14", exact=True))
    assert "write helmet or shoulder_pads" in row.inner_text()
    assert officer.page.get_by_role("button", name="Take in").count() == 0
    with officer.page.expect_download() as download:
        officer.page.get_by_role("link", name="The file with what is wrong beside each row").click()
    assert "what is wrong" in download.value.path().read_text("utf-8-sig").splitlines()[0]
    assert faults(officer) == []
    assert officer.overflow() == 0
    officer.picture("look-at-file")


def test_doubtful_rows_are_taken_in_stopped_by_the_keyboard_alone(officer: Looking) -> None:
    send(officer, (HEADINGS + "BR-1,helmet,Tarnwick,Lantern,L,2026-06-19\n").encode())
    for name in ("Stop the doubtful ones and take in the rest", "Take in"):
        officer.page.get_by_role("button", name=name, exact=True).focus()
        officer.page.keyboard.press("Enter")
        officer.page.wait_for_load_state()
    officer.page.get_by_role("link", name="What must not be worn").click()
    assert "BR-1" in officer.page.get_by_role("main").inner_text()
    assert faults(officer) == []
