"""What the API answers of items, read."""

from typing import Any

from gearlife.models import Item
from tests.gearlife.api.base_probe import Caller


def read(caller: Caller, item: Item) -> Any:
    return caller("GET", f"items/{item.id}/").json()


def serials(answer: Any) -> set[str]:
    return {row["serial"] for row in answer.json()["results"]}
