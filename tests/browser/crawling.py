"""Every page that a person can reach by links, each view once; judged by axe-core at WCAG 2.2 AA, and by its width."""

from collections.abc import Callable, Iterable
from urllib.parse import urlsplit

from axe_playwright_python.sync_playwright import Axe
from django.urls import Resolver404, resolve
from playwright.sync_api import Error, Response

from tests.browser.served import Looking

STANDARD = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
MOST_PAGES = 150
NAMESPACES = {"gearlife", "fitting", "inspections"}
axe = Axe()


def view_of(path: str) -> str | None:
    """The name of the page at this path, whatever is in its query; None for what is no page of ours."""
    try:
        match = resolve(path)
    except Resolver404:
        return None
    return match.view_name if match.namespaces and match.namespaces[0] in NAMESPACES else None


def crawl(look: Looking, judge: Callable[[Looking, str], None], starts: Iterable[str], seen: set[str]) -> None:
    """Open each page that is linked from here on, one address for each view, and judge it; `seen` are the views."""
    waiting = list(starts)
    while waiting and len(seen) < MOST_PAGES:
        path = waiting.pop(0)
        name = view_of(urlsplit(path).path)
        if name is None or name in seen:
            continue
        seen.add(name)
        answer = opened(look, path)
        if answer is None:
            continue
        assert answer.ok, f"{path} answers {answer.status}"
        judge(look, name)
        waiting += linked(look)


def linked(look: Looking, within: str = "body") -> list[str]:
    """The addresses of ours that the page links, or a part of it."""
    found: list[str] = look.page.eval_on_selector_all(
        f"{within} a[href^='/']", "links => links.map(a => a.getAttribute('href'))"
    )
    return found


def opened(look: Looking, path: str) -> Response | None:
    """The answer to a page; None for a file, which is no page."""
    try:
        answer = look.page.goto(look.demo.address + path, wait_until="load")
    except Error as error:
        if "Download is starting" not in error.message:
            raise
        return None
    return answer if answer and answer.headers.get("content-type", "").startswith("text/html") else None


def faults(look: Looking) -> list[str]:
    """What axe-core finds on the page as it stands, each with the place."""
    found = axe.run(look.page, options={"runOnly": {"type": "tag", "values": STANDARD}}).response["violations"]
    return [
        f"{look.page.url} {each['id']}: {node['html']} ({node['failureSummary']})"
        for each in found
        for node in each["nodes"]
    ]
