"""The demo club is taken in whole or not at all."""

import pytest

from gearlife.models import Club, Item, LedgerEvent, Organisation, User
from inspections.management.commands.demo import Command
from inspections.management.demo_history import ACTS


@pytest.mark.django_db
def test_a_demo_club_that_breaks_off_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks_off(*_: object) -> None:
        assert Item.objects.exists()
        raise RuntimeError("nobody foresaw this")

    for act in ACTS:
        monkeypatch.setitem(ACTS, act, breaks_off)
    with pytest.raises(RuntimeError):
        Command().take_in_once()

    for table in (Organisation, Club, User, Item, LedgerEvent):
        assert not table.objects.exists()
