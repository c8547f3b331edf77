"""A refused issue and its reasons."""

import pytest

from fitting.models import Assignment
from fitting.operations.assignments import NewAssignment, issue
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError


def refusal(new: NewAssignment, now: Stamp) -> ConflictError:
    """The refusal of an issue; nothing of it is left behind."""
    before = list(Assignment.objects.order_by("id").values())
    with pytest.raises(ConflictError) as refused:
        issue(new=new, stamp=now)
    assert list(Assignment.objects.order_by("id").values()) == before
    return refused.value


def codes(refused: ConflictError) -> list[tuple[str, str]]:
    """Place and code of every reason."""
    return [(fault.pointer, fault.code) for fault in refused.faults]
