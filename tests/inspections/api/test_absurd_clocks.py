"""What stops gear is taken from whatever clock: at its beginning, at its end, or telling nonsense of itself."""

from datetime import datetime
from typing import Any

import pytest

from gearlife.models import Club, Hold, Item
from tests.factories import AT, DAY
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db
MOMENTS = ("0001-01-01T00:00:00Z", "1969-12-31T23:59:59Z", "9999-12-31T23:59:59Z")
SHOWN = (None, *MOMENTS)
Sent = tuple[str, str, dict[str, Any]]
RECORDS: tuple[Sent, ...] = (
    ("damage-reports/", "seen_at", {"description": "cracked"}),
    ("air-records/", "happened_at", {"felt": "wont_hold"}),
    ("inspections/", "inspected_at", {"findings": [{"point": "shell", "defect": "crack"}]}),
)


@pytest.mark.parametrize("shown", SHOWN)
@pytest.mark.parametrize("moment", MOMENTS)
@pytest.mark.parametrize("sent", RECORDS, ids=[path for path, *_ in RECORDS])
def test_no_clock_is_too_absurd_to_stop_gear(
    officer: Caller, club: Club, item: Item, sent: Sent, moment: str, shown: str | None
) -> None:
    path, name, facts = sent
    Club.objects.filter(id=club.id).update(timezone="America/New_York")
    headers = {"Device_Time": shown} if shown else {}
    answer = officer("POST", path, {"item": str(item.id), name: moment, **facts}, **headers)

    assert answer.status_code == 201
    assert Hold.objects.get(item=item).starts_on <= DAY
    row = answer.json()
    assert datetime.fromisoformat(row[name]) <= AT
    assert row["device_at"] == moment
    assert officer("GET", f"items/{item.id}/").json()["standing"] == "stopped"
