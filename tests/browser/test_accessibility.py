"""axe-core 4.12 (WCAG 2.0 to 2.2, A and AA) finds nothing on any page, and no page is wider than a small phone.

axe-core is Deque's, and not ours; it finds what a machine can find, which is not all of it.
"""

import pytest
from django.urls import URLPattern, URLResolver, get_resolver
from playwright.sync_api import expect

from tests.browser.crawling import NAMESPACES, crawl, faults, linked
from tests.browser.served import Looking

# No page to be looked at: what only takes a form, and files.
NO_PAGES = {"gearlife:sign-out", "gearlife:marked-copy"}
# Follow something that is sent: judged in the stories, and by the tests of the page.
AFTER_A_FORM = {"gearlife:file-in-hand", "gearlife:unsent", "gearlife:person-enable", "fitting:plan"}
# Acts that only some items have.
MOST_OF_A_STATE = 6
STATES = ("standing=stopped", "whereabouts=missing", "standing=retired", "whereabouts=stock&kind=helmet&issuable=yes")
# Of whom there is a receipt: fixtures/README.md.
SIGNED = "Uchenna"


def names() -> set[str]:
    """Every page that there is."""
    found = set()
    for resolver in get_resolver().url_patterns:
        if isinstance(resolver, URLResolver) and resolver.namespace in NAMESPACES:
            found |= {
                f"{resolver.namespace}:{pattern.name}"
                for pattern in resolver.url_patterns
                if isinstance(pattern, URLPattern)
            }
    return found


@pytest.mark.parametrize("role", ["administrator"])
def test_every_page_is_reached_by_links_and_nothing_is_found_on_it(phone: Looking, role: str) -> None:
    found: list[str] = []

    def judge(look: Looking, name: str) -> None:
        found.extend(faults(look))
        if wider := look.overflow():
            found.append(f"{look.page.url} is {wider} px wider than the screen")
        look.picture(name.replace(":", "-"))

    phone.go("/sign-in/")
    judge(phone, "gearlife:sign-in")
    phone.sign_in(role)
    set_a_loaner_up(phone)
    report_a_scuff(phone)
    reached = {"gearlife:sign-in"}
    # Lending begins with a number that is typed into the page of loans.
    crawl(phone, judge, ["/", "/loans/lend/"], reached)
    phone.go(f"/players/?q={SIGNED}")
    for player in linked(phone, ".line"):
        phone.go(player)
        crawl(phone, judge, linked(phone), reached)
    for state in STATES:
        phone.go(f"/gear/?{state}")
        for item in linked(phone, ".line")[:MOST_OF_A_STATE]:
            phone.go(item)
            crawl(phone, judge, linked(phone), reached)
    assert found == []
    assert names() - reached - NO_PAGES - AFTER_A_FORM == set()


def set_a_loaner_up(look: Looking) -> None:
    """A helmet of the room for a band of heads."""
    look.go("/gear/?whereabouts=stock&kind=helmet&issuable=yes")
    look.page.locator(".serial").first.click()
    look.page.get_by_role("link", name="Loaner").first.click()
    look.page.get_by_label("from").first.fill("55")
    look.page.get_by_label("to", exact=True).first.fill("58")
    look.page.get_by_role("button", name="It is set up for these").click()
    expect(look.page.get_by_role("status")).to_be_visible()


def report_a_scuff(look: Looking) -> None:
    """A report that waits for somebody."""
    look.go("/damage/report/")
    look.page.get_by_label("Serial or tag").fill("ZZ-000")
    look.page.get_by_label("What is damaged").fill("a scuff at the side")
    look.page.get_by_role("button", name="Report it").click()
    expect(look.page.get_by_role("status")).to_be_visible()
