"""`python -m tests.openapi` renews `tests/openapi.yaml`, the committed snapshot of the OpenAPI document."""

import json
import os
from importlib import import_module
from pathlib import Path
from typing import Any

import django
import yaml
from django.conf import settings

SNAPSHOT = Path(__file__).with_name("openapi.yaml")
RENEW = "python -m tests.openapi"


def plain_document() -> Any:
    """The document as a reader of JSON sees it."""
    # The addresses first: they load the views, and these the framework's settings, in an order that works.
    import_module(settings.ROOT_URLCONF)
    from gearlife.api.rendering import to_json
    from gearlife.api.schema import contract

    return json.loads(to_json(contract()))


def read_snapshot() -> Any:
    """The committed document."""
    return yaml.safe_load(SNAPSHOT.read_text())


def write_snapshot() -> None:
    """Write it anew."""
    SNAPSHOT.write_text(yaml.safe_dump(plain_document(), sort_keys=True, allow_unicode=True, width=120))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gearlife.config.settings")
    django.setup()
    write_snapshot()
