"""The clear atmosphere of the sky model: densities, cross-sections and haze.

Lengths are kilometres, coefficients per kilometre and wavelengths nanometres. Every number
names its source; `core.sky.orders` turns them into light.

References
----------
.. [1] U.S. Standard Atmosphere, 1976. NOAA/NASA/USAF, NOAA-S/T 76-1562.
.. [2] Bodhaine, B. A., Wood, N. B., Dutton, E. G. & Slusser, J. R., 1999, "On Rayleigh optical
   depth calculations", J. Atmos. Oceanic Technol. 16, 1854-1861, eq. 29.
.. [3] Krueger, A. J. & Minzner, R. A., 1976, "A mid-latitude ozone model for the 1976 U.S.
   Standard Atmosphere", J. Geophys. Res. 81, 4477-4481.
.. [4] Serdyuchenko, A. et al., 2014, "High spectral resolution ozone absorption
   cross-sections - Part 2", Atmos. Meas. Tech. 7, 625-636.
.. [5] Young, A. T., 1980, "Revised depolarization corrections for atmospheric extinction",
   Appl. Opt. 19, 3427-3428.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray: TypeAlias = NDArray[np.float64]

EARTH_RADIUS_KM = 6371.0
TOP_KM = 120.0
"""Above this the air scatters less than the night sky shines, even at sun altitude -12."""

SURFACE_REFRACTIVITY = 2.78e-4
"""n - 1 of standard air at 550 nm; it falls with height as the density does."""

GROUND_ALBEDO = 0.15
"""Bare and grassy land; between asphalt 0.12 and grass 0.20."""

RAYLEIGH_DEPOLARISATION = 0.0279
"""Depolarisation factor of air for unpolarised light [5]_."""

HAZE_ASYMMETRY = 0.70
"""Henyey-Greenstein asymmetry, a round value for continental haze."""

# --------------------------------------------------------------------------- air

_LOSCHMIDT_PER_M3 = 2.546899e25
"""Molecules per cubic metre at 288.15 K and 1013.25 hPa, the air eq. 29 of [2]_ refers to."""

_EFFECTIVE_EARTH_RADIUS_KM = 6356.766
_GRAVITY_OVER_GAS_CONSTANT_K_PER_KM = 34.163195
_SURFACE_TEMPERATURE_K = 288.15

# Geopotential base [km] and lapse rate [K/km] of each layer, table 4 of [1].
_LAYERS = (
    (0.0, -6.5), (11.0, 0.0), (20.0, 1.0), (32.0, 2.8), (47.0, 0.0), (51.0, -2.8), (71.0, -2.0),
)  # fmt: skip
_MIXED_TOP_KM = 86.0

# Above 86 km the gases separate by weight; densities [kg/m3] from the tables of [1].
_UPPER_HEIGHT_KM = np.array([86.0, 90.0, 95.0, 100.0, 110.0, 120.0])
_UPPER_DENSITY = np.array([6.958e-6, 3.416e-6, 1.393e-6, 5.604e-7, 9.708e-8, 2.222e-8])
_SURFACE_DENSITY = 1.225


def _mixed_relative_density(geopotential_km: FloatArray) -> FloatArray:
    """Density over its surface value up to 86 km, layer by layer from the ground."""
    density = np.ones_like(geopotential_km)
    temperature_k, pressure = _SURFACE_TEMPERATURE_K, 1.0
    tops = [base for base, _ in _LAYERS[1:]] + [np.inf]
    for (base, lapse), top in zip(_LAYERS, tops, strict=True):
        inside = (geopotential_km >= base) & (geopotential_km < top)
        thickness = np.where(inside, geopotential_km - base, 0.0)
        local_k, local_pressure = _climb(temperature_k, pressure, lapse, thickness)
        density = np.where(inside, local_pressure * _SURFACE_TEMPERATURE_K / local_k, density)
        if np.isfinite(top):
            top_k, top_pressure = _climb(temperature_k, pressure, lapse, np.array(top - base))
            temperature_k, pressure = float(top_k), float(top_pressure)
    return density


def _climb(
    temperature_k: float, pressure: float, lapse: float, thickness_km: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Temperature and pressure after climbing through a layer of constant lapse."""
    local_k = temperature_k + lapse * thickness_km
    if lapse == 0.0:
        exponent = -_GRAVITY_OVER_GAS_CONSTANT_K_PER_KM * thickness_km / temperature_k
        return local_k, pressure * np.exp(exponent)
    ratio = temperature_k / local_k
    return local_k, pressure * ratio ** (_GRAVITY_OVER_GAS_CONSTANT_K_PER_KM / lapse)


def air_density_ratio(height_km: ArrayLike) -> FloatArray:
    """Air density over its value at sea level, U.S. Standard Atmosphere 1976 [1]_.

    A single exponential is not good enough here: it holds two to three times too much air at
    40-80 km, which is where the light of the later twilight comes from.
    """
    height = np.asarray(height_km, dtype=np.float64)
    below = np.minimum(height, _MIXED_TOP_KM)
    geopotential = _EFFECTIVE_EARTH_RADIUS_KM * below / (_EFFECTIVE_EARTH_RADIUS_KM + below)
    upper = np.interp(height, _UPPER_HEIGHT_KM, np.log(_UPPER_DENSITY / _SURFACE_DENSITY))
    return np.where(height < _MIXED_TOP_KM, _mixed_relative_density(geopotential), np.exp(upper))


def rayleigh_cross_section_m2(wavelength_nm: ArrayLike) -> FloatArray:
    """Scattering cross-section of one air molecule, Bodhaine et al. 1999 eq. 29 [2]_."""
    micron_sq = (np.asarray(wavelength_nm, dtype=np.float64) * 1e-3) ** 2
    top = 1.0455996 - 341.29061 / micron_sq - 0.90230850 * micron_sq
    bottom = 1.0 + 0.0027059889 / micron_sq - 85.968563 * micron_sq
    return 1e-32 * top / bottom


def rayleigh_per_km(wavelength_nm: float) -> float:
    """Rayleigh scattering coefficient of air at sea level."""
    return float(rayleigh_cross_section_m2(wavelength_nm)) * _LOSCHMIDT_PER_M3 * 1e3


# ------------------------------------------------------------------------- ozone

OZONE_COLUMN_DU = 300.0
_MOLECULES_PER_M2_PER_DU = 2.6868e20

_OZONE_HEIGHT_KM = np.arange(0.0, 76.0, 2.0)
# Molecules per m3 every 2 km from the ground, the mid-latitude model of [1] (part 1, table 18)
# and [3], which begins at 2 km: the ground value repeats the lowest one.
_OZONE_PER_M3 = np.array([
    6.8e17, 6.8e17, 5.8e17, 5.7e17, 6.5e17, 1.13e18, 2.02e18, 2.35e18, 2.95e18, 4.04e18,
    4.77e18, 4.86e18, 4.54e18, 4.03e18, 3.24e18, 2.52e18, 2.03e18, 1.58e18, 1.22e18, 8.73e17,
    6.07e17, 3.98e17, 2.74e17, 1.69e17, 1.03e17, 6.64e16, 3.84e16, 2.55e16, 1.61e16, 1.12e16,
    7.33e15, 4.81e15, 3.17e15, 1.72e15, 7.5e14, 5.4e14, 2.2e14, 1.7e14,
])  # fmt: skip

# Chappuis band at 233 K [4], m2 per molecule, means over 10 nm centred on 365, 375 ... 735 nm.
_OZONE_BAND_NM = np.arange(365.0, 740.0, 10.0)
_OZONE_CROSS_SECTION_M2 = 1e-25 * np.array([
    0.0118, 0.002182, 0.002818, 0.006636, 0.01527, 0.02763, 0.0552, 0.08451, 0.1582, 0.2316,
    0.3669, 0.4924, 0.7752, 0.9016, 1.48, 1.602, 2.139, 2.755, 3.091, 3.5,
    4.266, 4.672, 4.398, 4.701, 5.019, 4.305, 3.74, 3.215, 2.662, 2.238,
    1.852, 1.473, 1.209, 0.9423, 0.7455, 0.6566, 0.5105, 0.415,
])  # fmt: skip


def ozone_native_column_du() -> float:
    """Column of the tabulated profile before it is scaled to `OZONE_COLUMN_DU`."""
    metres = _OZONE_HEIGHT_KM * 1e3
    return float(np.trapezoid(_OZONE_PER_M3, metres)) / _MOLECULES_PER_M2_PER_DU


def ozone_per_m3(height_km: ArrayLike) -> FloatArray:
    """Ozone molecules per cubic metre, the mid-latitude shape scaled to `OZONE_COLUMN_DU`."""
    height = np.asarray(height_km, dtype=np.float64)
    shape = np.interp(height, _OZONE_HEIGHT_KM, _OZONE_PER_M3, right=0.0)
    return np.asarray(shape * OZONE_COLUMN_DU / ozone_native_column_du())


def ozone_cross_section_m2(wavelength_nm: ArrayLike) -> FloatArray:
    """Absorption cross-section of one ozone molecule, 365-735 nm [4]_."""
    wavelength = np.asarray(wavelength_nm, dtype=np.float64)
    return np.interp(wavelength, _OZONE_BAND_NM, _OZONE_CROSS_SECTION_M2)


# -------------------------------------------------------------------------- haze

ANGSTROM_EXPONENT = 1.3
"""How fast haze thins toward the red: optical depth goes as wavelength to minus this."""

_FREE_TROPOSPHERE_AOD = 0.02
STRATOSPHERE_AOD = 0.004
"""The Junge layer in years without a great eruption, 0.003 to 0.005 in the satellite record
(Kovilakam et al. 2020, Earth Syst. Sci. Data 12, 2607; the range from memory)."""


@dataclass(frozen=True)
class HazeLayer:
    """One layer of particles.

    Attributes
    ----------
    aod_550 : float
        Vertical optical depth at 550 nm.
    scale_km : float
        Scale height of an exponential layer, or the half-width of a raised one.
    centre_km : float
        Height of the middle of a raised (Gaussian) layer; 0 for an exponential one.
    single_scattering_albedo : float
        Share of the extinguished light that is scattered.
    """

    aod_550: float
    scale_km: float
    centre_km: float
    single_scattering_albedo: float

    def shape_per_km(self, height_km: FloatArray) -> FloatArray:
        """Density of the layer with a column of one."""
        if self.centre_km == 0.0:
            return np.exp(-height_km / self.scale_km) / self.scale_km
        offset = (height_km - self.centre_km) / self.scale_km
        column = self.scale_km * np.sqrt(2.0 * np.pi)
        return np.asarray(np.exp(-0.5 * offset**2) / column)


def haze_layers(aod_550: float) -> tuple[HazeLayer, ...]:
    """Boundary layer, free troposphere and stratosphere for one total haze.

    Round textbook values: what a pilot says about haze goes into the boundary layer, the
    rest is background that is always there.
    """
    return (
        HazeLayer(aod_550 - _FREE_TROPOSPHERE_AOD, 1.5, 0.0, 0.94),
        HazeLayer(_FREE_TROPOSPHERE_AOD, 5.0, 0.0, 0.94),
        HazeLayer(STRATOSPHERE_AOD, 4.0, 19.0, 1.0),
    )


# ------------------------------------------------------------------ coefficients


@dataclass(frozen=True)
class Coefficients:
    """What one wavelength meets in one atmosphere; every array is per height.

    Attributes
    ----------
    air, haze : ndarray [1/km]
        Scattering coefficients of air and of particles.
    extinction : ndarray [1/km]
        Everything lost from a ray: scattering, haze absorption and ozone.
    """

    air: FloatArray
    haze: FloatArray
    extinction: FloatArray


def coefficients(wavelength_nm: float, aod_550: float, height_km: FloatArray) -> Coefficients:
    """Coefficients of the clear atmosphere at one wavelength.

    Parameters
    ----------
    wavelength_nm : float
        Wavelength [nm], 365 to 735.
    aod_550 : float
        Haze optical depth at 550 nm, at least 0.02.
    height_km : ndarray
        Heights above the ground [km].
    """
    air = rayleigh_per_km(wavelength_nm) * air_density_ratio(height_km)
    angstrom = (wavelength_nm / 550.0) ** -ANGSTROM_EXPONENT
    scattered = np.zeros_like(height_km)
    extinguished = np.zeros_like(height_km)
    for layer in haze_layers(aod_550):
        coefficient = layer.aod_550 * angstrom * layer.shape_per_km(height_km)
        extinguished += coefficient
        scattered += layer.single_scattering_albedo * coefficient
    ozone = 1e3 * ozone_cross_section_m2(wavelength_nm) * ozone_per_m3(height_km)
    return Coefficients(air, scattered, air + extinguished + ozone)
