"""The weekly check in a browser: on a small phone, by thumb; by keys alone; and what it prints."""

import re

from playwright.sync_api import Locator, Page, expect

from tests.browser.crawling import faults
from tests.browser.served import Looking

TEAM = "Reserves"
GLOVE = 56


def to_the_team(look: Looking) -> None:
    """From the day's page to the team's round."""
    look.sign_in("officer")
    look.go("/check/")
    look.page.get_by_role("link", name=TEAM).first.click()
    expect(look.page.get_by_role("heading", level=1)).to_have_text(TEAM)


def open_lines(page: Page) -> Locator:
    """The links to what nobody has looked over yet, and that may be worn."""
    return page.locator("section", has=page.get_by_role("heading", name="Not yet")).get_by_role("link")


def sizes(page: Page, selector: str) -> list[float]:
    """How high everything that fits is, in pixels."""
    heights: list[float] = page.eval_on_selector_all(
        selector, "all => all.filter(e => e.offsetParent).map(e => e.getBoundingClientRect().height)"
    )
    return heights


def test_a_crack_is_found_on_a_phone_and_replaced_in_two_more_taps(phone: Looking) -> None:
    to_the_team(phone)
    page = phone.page
    phone.picture("check-team")
    open_lines(page).first.tap()
    number = page.locator(".big-number").inner_text()
    phone.picture("check-item")
    points = page.locator(".look-at").bounding_box()
    nothing = page.get_by_role("button", name="Nothing found").bounding_box()
    assert points
    assert nothing
    assert points["y"] + points["height"] <= nothing["y"]

    page.locator("summary", has_text="Something").tap()
    page.locator(".point > summary").first.tap()
    assert min(sizes(page, ".point > summary, .found > .choice, .verdict .tape")) >= GLOVE
    phone.picture("check-something")
    assert faults(phone) == []
    page.get_by_role("checkbox", name=re.compile("^A crack")).first.check()
    page.get_by_role("button", name="Record what is ticked").tap()

    expect(page.get_by_role("heading", level=1)).to_have_text("Take it off.")
    expect(page.locator(".big-number")).to_have_text(number)
    expect(page.locator(".tag-out").first).to_contain_text("crack")
    assert phone.overflow() == 0
    phone.picture("check-take-off")
    assert faults(phone) == []
    page.get_by_role("link", name="Hand this one out").first.tap()
    hand_out = page.get_by_role("button", name=re.compile("^Every check passes: hand .* out to"))
    expect(hand_out).to_be_visible()
    assert (faults(phone), phone.overflow()) == ([], 0)
    hand_out.tap()
    expect(page.locator(".told").first).to_contain_text("Handed out to")
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Take it off.")


def test_typing_a_number_leaves_its_lines_alone_at_once(phone: Looking) -> None:
    to_the_team(phone)
    page = phone.page
    expect(page.get_by_label("Jersey number")).to_be_focused()
    expect(page.get_by_label("Jersey number")).to_have_attribute("inputmode", "numeric")
    number = page.locator("li.line .number").last.inner_text()
    page.keyboard.type(number)
    shown = page.locator("li.line:visible .number")
    assert {text.startswith(number) for text in shown.all_inner_texts()} == {True}
    page.get_by_label("Name, tag or serial").fill("nobody is called this")
    expect(page.get_by_text("No line has this.")).to_be_visible()


def test_a_look_takes_the_keys_alone(laptop: Looking) -> None:
    """Number, Enter, to the button, Enter: the next item is there by itself."""
    to_the_team(laptop)
    page = laptop.page
    expect(page.get_by_label("Jersey number")).to_be_focused()  # its script has run, and will not take the focus again
    open_lines(page).first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Nothing found")).to_be_visible()
    first = page.url
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == "Nothing found":
            break
    page.keyboard.press("Enter")
    expect(page.locator(".told")).to_contain_text("nothing found")
    assert page.url != first


def test_without_scripts_the_number_is_found_by_the_server(laptop: Looking) -> None:
    context = laptop.context.browser
    assert context
    to_the_team(laptop)
    plain = context.new_context(java_script_enabled=False, storage_state=laptop.context.storage_state())
    page = plain.new_page()
    page.goto(laptop.page.url)
    number = page.locator("li.line .number").first.inner_text()
    page.get_by_label("Jersey number").fill(number)
    page.get_by_role("button", name="Find").click()
    assert number in page.locator("main").inner_text()
    assert "No line has this." not in page.locator("main").inner_text()
    plain.close()


def test_a_sheet_with_a_mistake_comes_back_with_it_at_its_line(phone: Looking) -> None:
    to_the_team(phone)
    page = phone.page
    page.get_by_role("link", name="Enter from paper").click()
    line = page.locator("li.line").first
    line.get_by_role("radio", name="something").check()
    page.get_by_role("button", name="Record the sheet").click()
    expect(page.get_by_role("alert")).to_contain_text("choose what was found")
    expect(line.locator(".fault")).to_contain_text("choose what was found")
    expect(line.get_by_role("radio", name="something")).to_be_checked()
    assert (faults(phone), phone.overflow()) == ([], 0)
    phone.picture("check-from-paper")


def test_the_pages_of_the_check_have_no_fault_that_a_machine_finds(phone: Looking) -> None:
    to_the_team(phone)
    page = phone.page
    here = page.url
    open_lines(page).first.click()
    for address in (page.url, here, here + "clipboard/", here + "from-paper/"):
        page.goto(address)
        assert (faults(phone), phone.overflow()) == ([], 0), address
    phone.go("/check/")
    assert (faults(phone), phone.overflow()) == ([], 0)


def test_the_clipboard_sheet_prints_its_head_on_every_page(laptop: Looking) -> None:
    to_the_team(laptop)
    page = laptop.page
    page.get_by_role("link", name="Clipboard sheet").click()
    expect(page.locator(".print-head")).to_be_hidden()
    page.emulate_media(media="print")
    expect(page.locator(".print-head")).to_be_visible()
    assert page.locator(".clip thead").evaluate("head => getComputedStyle(head).display") == "table-header-group"
    expect(page.locator(".head")).to_be_hidden()
    expect(page.get_by_text("These records certify nothing")).to_be_visible()
    laptop.picture("check-clipboard-printed")
