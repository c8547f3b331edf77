"""The standard atmosphere against its published table and another program."""

import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.atmosphere import HIGHEST_M, LOWEST_M, standard_pressure_kpa

HEIGHTS = st.floats(LOWEST_M, HIGHEST_M)


# ISO 2533:1975 and USSA 1976, hPa at geopotential metres; tables differ by the height that they mean.
@pytest.mark.parametrize(
    ("elevation_m", "hpa"), [(0, 1013.25), (500, 954.61), (1000, 898.75), (2000, 794.95), (3000, 701.09)]
)
def test_the_published_table_comes_out(elevation_m: float, hpa: float) -> None:
    assert standard_pressure_kpa(elevation_m) * 10 == pytest.approx(hpa, abs=0.15)


@given(geometric_m=st.floats(-400, 5900))
def test_the_1976_atmosphere_of_fluids_agrees_at_its_geopotential_height(geometric_m: float) -> None:
    geopotential_m = 6356766 * geometric_m / (6356766 + geometric_m)  # USSA 1976, equation 18
    oracle = ATMOSPHERE_1976(geometric_m).P / 1000
    assert standard_pressure_kpa(geopotential_m) == pytest.approx(oracle, rel=1e-6)


def test_a_maps_height_in_place_of_the_geopotential_one_matters_by_less_than_20_pascals() -> None:
    oracle = ATMOSPHERE_1976(3000).P / 1000
    assert abs(standard_pressure_kpa(3000) - oracle) < 0.02


@given(low=HEIGHTS, high=HEIGHTS)
def test_higher_is_thinner(low: float, high: float) -> None:
    if high - low > 1e-6:
        assert standard_pressure_kpa(high) < standard_pressure_kpa(low)


@pytest.mark.parametrize("elevation_m", [-501, 6001, float("nan")])
def test_where_nobody_plays_there_is_no_answer(elevation_m: float) -> None:
    with pytest.raises(ValueError, match="elevation"):
        standard_pressure_kpa(elevation_m)
