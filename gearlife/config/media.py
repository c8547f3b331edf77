"""Where photographs are kept: a folder, or whatever storage the operator names."""

import json
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from django.core.exceptions import ImproperlyConfigured

FOLDER = "gearlife.operations.kept_files.KeptFolder"
WRITTEN = (
    "GEARLIFE_MEDIA_URL: write file:///the/folder, or storage:dotted.name.of.Class?option=value&... for any storage "
    "class of Django that is installed, as one for an object store"
)


def storage_of(url: str) -> dict[str, Any]:
    """An entry of `STORAGES` for an address; nothing is the folder in `var/`. ImproperlyConfigured for any other."""
    address = urlsplit(url)
    match address.scheme:
        case "" if not url:
            return {"BACKEND": FOLDER}
        case "file" if address.path.startswith("/") and not address.netloc:
            return {"BACKEND": FOLDER, "OPTIONS": {"location": unquote(address.path)}}
        case "storage" if address.path and not address.netloc:
            options = {name: _value(text) for name, text in parse_qsl(address.query)}
            return {"BACKEND": address.path, "OPTIONS": options}
    raise ImproperlyConfigured(WRITTEN)


def _value(text: str) -> object:
    """A number, true, false or null as such; anything else is text."""
    try:
        return json.loads(text)
    except ValueError:
        return text
