"""What GEARLIFE_HTTPS, GEARLIFE_PROXIES and GEARLIFE_OPERATORS change, read from a program started with them."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

NAMES = (
    *("SESSION_COOKIE_NAME", "SESSION_COOKIE_SECURE", "CSRF_COOKIE_NAME", "CSRF_COOKIE_SECURE", "KNOWN_COOKIE_NAME"),
    *("SECURE_HSTS_SECONDS", "SECURE_PROXY_SSL_HEADER", "CSRF_TRUSTED_ORIGINS", "PROXIES", "ROOT_URLCONF"),
)
PRINT = f"""
import json, django; django.setup()
from django.conf import settings
print(json.dumps({{name: getattr(settings, name) for name in {NAMES}}}))
"""


def started_with(folder: Path, **given: str) -> dict[str, Any]:
    bare = {name: value for name, value in os.environ.items() if not name.startswith("GEARLIFE_")}
    env = {**bare, "GEARLIFE_VAR_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "gearlife.config.settings", **given}
    done = subprocess.run(
        [sys.executable, "-c", PRINT],
        cwd=settings.BASE_DIR,
        env=env,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.slow
def test_by_default_it_is_plain_http_and_believes_no_proxy(tmp_path: Path) -> None:
    found = started_with(tmp_path)
    assert (found["SESSION_COOKIE_NAME"], found["SESSION_COOKIE_SECURE"]) == ("gearlife_session", False)
    assert (found["SECURE_HSTS_SECONDS"], found["SECURE_PROXY_SSL_HEADER"], found["PROXIES"]) == (0, None, 0)
    assert found["ROOT_URLCONF"] == "gearlife.config.urls"


@pytest.mark.slow
def test_over_https_cookies_are_bound_to_it_and_browsers_are_told_to_stay(tmp_path: Path) -> None:
    found = started_with(
        tmp_path, GEARLIFE_HTTPS="1", GEARLIFE_PROXIES="1", GEARLIFE_HOSTS="gear.example", GEARLIFE_OPERATORS="1"
    )
    names = [found[f"{kind}_COOKIE_NAME"] for kind in ("SESSION", "CSRF", "KNOWN")]
    assert all(name.startswith("__Host-") for name in names)
    assert (found["SESSION_COOKIE_SECURE"], found["CSRF_COOKIE_SECURE"]) == (True, True)
    assert found["SECURE_HSTS_SECONDS"] >= 365 * 24 * 3600
    assert found["SECURE_PROXY_SSL_HEADER"] == ["HTTP_X_FORWARDED_PROTO", "https"]
    assert "https://gear.example" in found["CSRF_TRUSTED_ORIGINS"]
    assert found["ROOT_URLCONF"] == "gearlife.config.operator_urls"
