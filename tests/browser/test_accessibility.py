"""axe-core 4.12 (WCAG 2.0 to 2.2, A and AA) finds nothing on any page, and no page is wider than a small phone.

axe-core is Deque's, and not ours; it finds what a machine can find, which is not all of it.
"""

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from tests.browser.crawling import NAMESPACES, crawl, faults
from tests.browser.served import Looking

# Opened by a form alone, or by a state that the demo is not in: the tests of each page ask them.
NOT_LINKED: set[str] = {
    "gearlife:unsent",  # only after a session has run out in the middle of a form
    "gearlife:file-in-hand",  # only after a file was sent: test_taking_in looks at both
    "gearlife:marked-copy",
}


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
    reached = crawl(phone, judge)
    assert found == []
    assert names() - reached - NOT_LINKED - {"gearlife:sign-in"} == set()
