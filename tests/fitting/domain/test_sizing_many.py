"""Sizes of many at once are those of one after the other, to the last digit."""

from math import inf

from hypothesis import given
from hypothesis import strategies as st

from fitting.domain.sizing import POSSIBLE, Estimate, SizeRange, Sizing, WeightRange
from fitting.domain.sizing_many import Asked, possible_of, probabilities
from fitting.domain.vocabulary import MeasurementKind

CHEST, SHOULDER = MeasurementKind.CHEST_CIRCUMFERENCE, MeasurementKind.SHOULDER_WIDTH
LENGTHS = st.one_of(st.integers(395, 505).map(float), st.floats(395, 505))
ESTIMATES = st.builds(Estimate, LENGTHS, st.sampled_from([0.0, 0.5, 1.5, 8.0]))


@st.composite
def charts(draw: st.DrawFn) -> Sizing:
    """Up to four sizes by one measure or two, with open ends and overlaps, some with weights."""
    kinds = [CHEST, SHOULDER][: draw(st.integers(1, 2))]
    names = "SMLX"[: draw(st.integers(1, 4))]
    rows = []
    for size in names:
        for kind in kinds:
            low = draw(st.sampled_from([-inf, 400.0, 420.0, 450.0]))
            rows.append(SizeRange(size, kind, low, draw(st.sampled_from([460.0, 480.0, inf]))))
    weighed = draw(st.lists(st.sampled_from(names), max_size=2, unique=True))
    return Sizing(rows, [WeightRange(size.lower(), 40, 60) for size in weighed])


PEOPLE = st.lists(
    st.tuples(st.fixed_dictionaries({CHEST: ESTIMATES, SHOULDER: ESTIMATES}), st.sampled_from([None, 30.0, 50.0])),
    max_size=6,
)


@given(charts(), PEOPLE)
def test_many_at_once_have_the_very_sizes_of_each(sizing: Sizing, people: list[Asked]) -> None:
    one_by_one = [[each for each in sizing.of(*asked) if each.probability >= POSSIBLE] for asked in people]
    assert possible_of(sizing, people) == one_by_one


@given(charts(), PEOPLE)
def test_a_row_of_probabilities_is_a_size_and_a_column_a_player(sizing: Sizing, people: list[Asked]) -> None:
    found = probabilities(sizing, people)
    assert found.shape == (len(sizing.sizes), len(people))
    for person, asked in enumerate(people):
        of_one = {each.size: each.probability for each in sizing.of(*asked)}
        assert dict(zip(sizing.sizes, found[:, person].tolist(), strict=True)) == of_one
