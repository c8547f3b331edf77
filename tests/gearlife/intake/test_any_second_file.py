"""Whatever a later file says of known items: it lifts no stop, makes nothing younger, brings nothing back."""

from collections.abc import Sequence

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.vocabulary import Standing
from gearlife.models import Club, Hold, Item, LedgerEvent
from gearlife.operations import items
from gearlife.operations.holds import NewHold, hold
from gearlife.queries.ledger import first_broken
from tests.factories import DAY, ClubFactory, stamp
from tests.gearlife.intake.club_files import file_of, helmet, taken_in

CHOICES: dict[str, Sequence[str]] = {
    "serial": ("HELD", "RETIRED", "LAPSED", "UNDATED", "FREE", "0077", "77", "NEW"),
    "made_on": ("", "2018", "2019", "2021-03", "2024-01-05", "2026-06-19", "3/4/2021", "2026-01"),
    "certified_on": ("", "2020-05-01", "2026-09-01", "1/9/2026", "2017-01-01"),
    "certified_by": ("", "Riverside Recon"),
    "acquired_on": ("", "2020-01-01", "2026-07-01"),
    "colour": ("", "red", "=1+1"),
    "tag": ("", "T1"),
    "manufacturer": ("Oakshell", "OAKSHELL "),
}
# Most rows say one thing more than their serial; with more, nearly every file would be refused.
ROW = st.one_of(
    *(
        st.fixed_dictionaries(
            {"serial": st.sampled_from(CHOICES["serial"]), "made_on": st.just(""), name: st.sampled_from(values)}
        )
        for name, values in CHOICES.items()
    ),
    st.fixed_dictionaries({name: st.sampled_from(values) for name, values in CHOICES.items()}),
)
ROWS = st.lists(
    ROW,
    min_size=1,
    max_size=4,
    unique_by=lambda row: row["serial"],
)


@pytest.fixture
def a_club() -> Club:
    club: Club = ClubFactory.create()
    dated = [helmet(serial=serial, made_on="2026-01") for serial in ("HELD", "RETIRED", "FREE", "0077")]
    lapsed = helmet(serial="LAPSED", made_on="2018", certified_on="2020-05-01", certified_by="Riverside Recon")
    taken_in(file_of(*dated, lapsed, helmet(serial="UNDATED", made_on="")), club)
    now = stamp(club.organisation)
    hold(new=NewHold(Item.objects.get(serial="HELD").id, "shell: crack"), stamp=now)
    items.retire(item=Item.objects.get(serial="RETIRED"), reason="cracked", on=None, stamp=now)
    return club


def standings() -> dict[str, str]:
    return dict(Item.objects.with_standing(DAY).values_list("serial", "standing"))


@pytest.mark.django_db
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=ROWS, stop_doubtful=st.booleans())
def test_no_later_file_lifts_a_stop_or_makes_younger_or_brings_back(
    a_club: Club, rows: list[dict[str, str]], stop_doubtful: bool
) -> None:
    before, ages = standings(), dict(Item.objects.values_list("serial", "made_earliest"))
    retired, ended = Item.objects.filter(serial="RETIRED").values().get(), Hold.objects.filter(released_at=None).count()
    events = LedgerEvent.objects.count()
    text = file_of(*(helmet(**row) for row in rows))
    try:
        report = taken_in(text, a_club, stop_doubtful=stop_doubtful)
    except IntakeRefusedError:
        assert (standings(), LedgerEvent.objects.count()) == (before, events)
        return
    after = standings()
    assert [s for s, standing in before.items() if standing == Standing.STOPPED and after[s] != Standing.STOPPED] == []
    assert Item.objects.filter(serial="RETIRED").values().get() == retired
    assert any("retired on" in note for note in report.notes) == any(row["serial"] == "RETIRED" for row in rows)
    known = Item.objects.filter(serial__in=ages).values_list("serial", "made_earliest")
    assert [serial for serial, made in known if ages[serial] and (made is None or made > ages[serial])] == []
    assert Hold.objects.filter(released_at=None).count() >= ended
    again = taken_in(text, a_club, stop_doubtful=stop_doubtful)
    assert (again.added, again.changed, again.unchanged) == (0, 0, len(rows))
    assert first_broken(a_club.organisation_id) is None
