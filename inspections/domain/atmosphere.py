"""The standard atmosphere up to the tropopause, by its closed form: ISO 2533:1975, the same as USSA 1976 there."""

SEA_LEVEL_KPA = 101.325
SEA_LEVEL_K = 288.15
LAPSE_K_PER_M = 0.0065
GRAVITY_M_PER_S2 = 9.80665
AIR_J_PER_KG_K = 287.05287
EXPONENT = GRAVITY_M_PER_S2 / (AIR_J_PER_KG_K * LAPSE_K_PER_M)
# Both ends are wider than any field: the closed form itself holds to 11 000 m.
LOWEST_M, HIGHEST_M = -500.0, 6000.0


def standard_pressure_kpa(elevation_m: float) -> float:
    """The air's pressure at a geopotential height in metres; ValueError where nobody plays.

    A height above the sea as maps give it differs from that by less than 2 m below 3000 m: 0.02 kPa.
    """
    if not LOWEST_M <= elevation_m <= HIGHEST_M:
        raise ValueError(f"an elevation lies between {LOWEST_M:.0f} and {HIGHEST_M:.0f} m")
    pressure_kpa: float = SEA_LEVEL_KPA * (1 - LAPSE_K_PER_M * elevation_m / SEA_LEVEL_K) ** EXPONENT
    return pressure_kpa
