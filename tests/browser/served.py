"""The demo as its user starts it, and a browser that looks at it. The demo club is taken in once and copied."""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, ViewportSize, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = "/usr/bin/chromium"
FLAGS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
)
PHONE, LAPTOP = ViewportSize(width=360, height=740), ViewportSize(width=1280, height=800)
ACCOUNT = re.compile(r"^sign in: (?P<name>\S+)\s+/ (?P<password>\S+)\s+(?P<role>.+)$", re.MULTILINE)
PATIENCE_SECONDS = 20.0
# Where the pictures go; a landing keeps them as its output.
PICTURES = Path(os.environ.get("GEARLIFE_PICTURES_DIR") or ROOT / "var" / "pictures")


@dataclass
class Demo:
    """A running demo: its address, and the accounts that it printed, name and password by role."""

    process: subprocess.Popen[str]
    address: str
    said: str
    accounts: dict[str, tuple[str, str]]


@contextmanager
def demo(folder: Path) -> Iterator[Demo]:
    """Start `manage.py demo` on data in this folder; it is ended in order."""
    environment = {**os.environ, "GEARLIFE_VAR_DIR": str(folder), "GEARLIFE_DATABASE_URL": ""}
    errors = (folder / "errors.txt").open("w")
    process = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port=0"],
        cwd=ROOT,
        env={name: value for name, value in environment.items() if value},
        stdout=subprocess.PIPE,
        stderr=errors,
        text=True,
    )
    try:
        said = _said(process)
        address = re.search(r"^http://\S+", said, re.MULTILINE)
        assert address, said + (folder / "errors.txt").read_text()
        accounts = {found["role"]: (found["name"], found["password"]) for found in ACCOUNT.finditer(said)}
        _wait_until_open(address.group())
        yield Demo(process, address.group(), said, accounts)
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=30)
        errors.close()


def _said(process: subprocess.Popen[str]) -> str:
    """What it prints until it serves."""
    assert process.stdout
    lines = []
    for line in process.stdout:
        lines.append(line)
        if "Ctrl-C" in line:
            break
    return "".join(lines)


def _wait_until_open(address: str) -> None:
    """It prints where it will be before the port opens."""
    host, port = address.removeprefix("http://").split(":")
    end = monotonic() + PATIENCE_SECONDS
    while True:
        try:
            socket.create_connection((host, int(port)), timeout=1).close()
        except OSError:
            assert monotonic() < end, f"nothing answers at {address}"
            sleep(0.05)
        else:
            return


def copied(loaded: Path, folder: Path) -> Path:
    """The taken-in demo club in a folder of a test's own."""
    shutil.copytree(loaded, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns("broker", "errors.txt"))
    return folder


@contextmanager
def browser() -> Iterator[Browser]:
    """The machine's Chromium, with a profile that is thrown away."""
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=list(FLAGS))
        yield running
        running.close()


@dataclass
class Looking:
    """One person's browser at one demo: what it shows, and whatever it had to complain about."""

    demo: Demo
    context: BrowserContext
    page: Page
    complaints: list[str] = field(default_factory=list)

    def go(self, path: str) -> None:
        """Open an address of the demo."""
        self.page.goto(self.demo.address + path)

    def sign_in(self, role: str) -> None:
        """Sign in by the page, with what the demo printed."""
        name, password = self.demo.accounts[role]
        self.go("/sign-in/")
        self.page.get_by_label("User name").fill(name)
        self.page.get_by_label("Password").fill(password)
        self.page.get_by_role("button", name="Sign in").click()

    def picture(self, name: str) -> None:
        """Keep what is seen, the whole page."""
        PICTURES.mkdir(parents=True, exist_ok=True)
        width = (self.page.viewport_size or LAPTOP)["width"]
        self.page.screenshot(path=PICTURES / f"{name}-{width}.png", full_page=True)

    def overflow(self) -> int:
        """How many pixels the page is wider than the screen."""
        wider: int = self.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        return wider


@contextmanager
def looking(browser: Browser, demo: Demo, size: ViewportSize, **options: Any) -> Iterator[Looking]:
    """A fresh browser at this demo. Afterwards it may not have complained, been blocked, or asked elsewhere."""
    context = browser.new_context(viewport=size, locale="en-US", **options)
    context.set_default_timeout(10_000)
    page = context.new_page()
    look = Looking(demo, context, page)

    def complain(message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"} and "status of 4" not in message.text:
            look.complaints.append(f"{page.url}: {message.text}")

    def elsewhere(request: Request) -> None:
        if not request.url.startswith((demo.address, "data:", "blob:")):
            look.complaints.append(f"{page.url} asks {request.url}")

    page.on("console", complain)
    page.on("pageerror", lambda error: look.complaints.append(f"{page.url}: {error}"))
    page.on("request", elsewhere)
    yield look
    context.close()
    assert look.complaints == []
