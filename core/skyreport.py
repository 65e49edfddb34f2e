"""The clear sky by direction as a list, for a check against any other source."""

from __future__ import annotations

from core.memory import Memory
from core.skies import sky_table

VIEW_ALTITUDES_DEG = (0.0, 2.0, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0)
AZIMUTHS_FROM_SUN_DEG = (0.0, 22.5, 45.0, 67.5, 90.0, 112.5, 135.0, 157.5, 180.0)
SKY_COLUMNS = ("view_altitude_deg", "azimuth_from_sun_deg", "luminance_cd_m2")


def sky_rows(
    sun_altitude_deg: float, haze_aod: float, height_m: float
) -> list[tuple[float, float, float]]:
    """Luminance of the clear moonless sky over view altitude and azimuth from the sun.

    Parameters
    ----------
    sun_altitude_deg
        Geometric, -90 to 90.
    haze_aod
        Aerosol optical depth at 550 nm, above 0; the table covers 0.05 to 0.5.
    height_m
        Height of the camera above the ground, 0 to 500.

    Returns
    -------
    list of (view_altitude_deg, azimuth_from_sun_deg, luminance in cd/m²)
        Without the glow of towns.
    """
    sky = sky_table(Memory()).at(haze_aod, height_m)
    return [
        (view, azimuth, float(sky.luminance(sun_altitude_deg, view, azimuth)))
        for view in VIEW_ALTITUDES_DEG
        for azimuth in AZIMUTHS_FROM_SUN_DEG
    ]
