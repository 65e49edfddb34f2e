"""Air pressure and density at a height: the troposphere of ISO 2533."""

from __future__ import annotations

GAS_CONSTANT_J_KG_K = 287.05287
CELSIUS_ZERO_K = 273.15

# Sea level, 25 degC: where the rated minutes of a craft are measured.
REFERENCE_DENSITY_KG_M3 = 101325.0 / (GAS_CONSTANT_J_KG_K * (25.0 + CELSIUS_ZERO_K))


def pressure_pa(elevation_m: float) -> float:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    elevation_m
        Height above sea level, [m], domain [-5000, 11000] (geopotential height;
        the geometric height differs by 0.05 % at 3 km).

    Returns
    -------
    float
        [Pa]

    References
    ----------
    ISO 2533:1975, layer with a gradient of -6.5 K/km.

    """
    return float(101325.0 * (1.0 - 0.0065 * elevation_m / 288.15) ** 5.25588)


def density_kg_m3(elevation_m: float, temperature_c: float) -> float:
    """Density of dry air at standard pressure and the temperature of the day.

    Parameters
    ----------
    elevation_m
        Height above sea level, [m], domain [-5000, 11000].
    temperature_c
        Air temperature, [degC], above absolute zero.

    Returns
    -------
    float
        [kg/m3]

    References
    ----------
    ISO 2533:1975 for the pressure; ideal gas with R = 287.05287 J/(kg K).

    """
    return pressure_pa(elevation_m) / (GAS_CONSTANT_J_KG_K * (temperature_c + CELSIUS_ZERO_K))
