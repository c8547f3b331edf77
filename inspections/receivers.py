"""What inspections does when gearlife tells that something happened."""

import json

from django.conf import settings

from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind
from inspections.operations.checklists import add_revision


def add_default_checklists(stamp: Stamp, **_: object) -> None:
    """Give a new organisation the default checklists as their first revisions; it may add its own to follow."""
    defaults = json.loads((settings.FIXTURES_DIR / "default_checklists.json").read_text())
    for checklist in defaults:
        add_revision(kind=Kind(checklist["kind"]), points=checklist["points"], stamp=stamp)
