"""What cloud takes from the light, and how unsure it makes it."""

from __future__ import annotations

#: 1-sigma of ground illuminance under a clear sky, and in any weather, in stops.
#: Clear: spread of independent measurements to -8 deg (Brown 1952, Koomen et al. 1952,
#: Spitschan et al. 2016). Any weather: Spitschan et al. 2016, Sci. Rep. 6:26756, Fig. 2.
CLEAR_SIGMA_STOPS = 0.4
CLOUDY_SIGMA_STOPS = 1.0


def cloud_factor(cloud_okta: float) -> float:
    """Share of the clear sky's illuminance that reaches the ground.

    Kasten & Czeplak 1980, Solar Energy 24:177: G/G0 = 1 - 0.75 (N/8)^3.4, found for the
    sun above the horizon and carried on below it.

    Parameters
    ----------
    cloud_okta
        Eighths of the sky covered, 0 to 8.
    """
    return float(1.0 - 0.75 * (cloud_okta / 8.0) ** 3.4)


def ambient_sigma_stops(cloud_okta: float) -> float:
    """1-sigma of the night's ambient level in stops, clear to overcast."""
    share = cloud_okta / 8.0
    return CLEAR_SIGMA_STOPS + (CLOUDY_SIGMA_STOPS - CLEAR_SIGMA_STOPS) * share
