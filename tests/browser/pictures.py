"""`python -m tests.browser.pictures`: renew the README's pictures from the demo as it first starts."""

import re
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image

from tests.browser import served
from tests.browser.served import Looking

FOLDER = served.ROOT / "fixtures" / "pictures"
COLOURS = 64  # ink, paper, tape and turf need no more, and the repository stays small


def main() -> None:
    """Take them all."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, served.demo(Path(folder)) as demo, served.browser() as browser:
        with served.looking(browser, demo, served.LAPTOP) as look:
            look.sign_in("officer")
            on_a_laptop(look)
        with served.looking(browser, demo, served.PHONE, has_touch=True, is_mobile=True) as look:
            look.sign_in("officer")
            on_a_fitting_day(look)
            on_a_phone(look)


def on_a_laptop(look: Looking) -> None:
    """The day, an item's life, the age of all gear."""
    keep(look, "today", 900)
    look.page.locator(".line", has=look.page.locator(".tag-out")).last.locator("a.serial, .serial a, a").first.click()
    keep(look, "life", 760)
    look.go("/age/")
    keep(look, "age", 980)


def on_a_phone(look: Looking) -> None:
    """A look at a helmet, what is found, and what happens then."""
    page = look.page
    look.go("/check/")
    page.get_by_role("link", name="Go on").first.click()
    page.locator(".line", has_text="helmet").get_by_role("link", name="Look it over").first.click()
    page.get_by_role("button", name="Nothing found").scroll_into_view_if_needed()
    keep(look, "look", 1500)
    page.locator("summary", has_text="Something").click()
    page.locator("summary", has_text=re.compile("shell", re.IGNORECASE)).first.click()
    page.get_by_label(re.compile("crack", re.IGNORECASE)).first.check()
    page.get_by_role("button", name="Record what is ticked").click()
    keep(look, "take-it-off", 1500)
    page.get_by_role("link", name=re.compile("Hand this one out")).first.click()
    keep(look, "hand-out", 1500)


def on_a_fitting_day(look: Looking) -> None:
    """Measured already: the plan of a team, the checks on a player, and the receipt."""
    page = look.page
    look.go("/plan/")
    page.get_by_label("For whom").select_option(label="Seniors")
    page.get_by_label("What").select_option(label="helmet")
    page.get_by_role("button", name="Make the plan").click()
    keep(look, "plan", 1500)
    page.get_by_role("button", name="Set this gear aside").click()
    page.locator(".line", has_text="Sandor Gorski").get_by_role("link", name="Hand out: helmet").click()
    keep(look, "fit", 1500)
    look.go("/players/?q=Uchenna")
    page.get_by_role("link", name=re.compile("Uchenna")).first.click()
    page.get_by_role("link", name=re.compile("Receipt")).first.click()
    keep(look, "receipt", 1500)


def keep(look: Looking, name: str, most: int) -> None:
    """The top of the page, so much of it, in few colours."""
    picture = Image.open(BytesIO(look.page.screenshot(full_page=True))).convert("RGB")
    cut = picture.crop((0, 0, picture.width, min(picture.height, most)))
    cut.quantize(COLOURS).save(FOLDER / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
