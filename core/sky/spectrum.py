"""Sunlight, the eye and the few wavelengths that stand for the whole spectrum.

References
----------
.. [1] ASTM G-173, "Standard Tables for Reference Solar Spectral Irradiances", extraterrestrial
   column, means over 10 nm.
.. [2] CIE 1931 2-degree standard observer (CIE 015), every 10 nm from 365 nm.
.. [3] Golub, G. H. & Welsch, J. H., 1969, "Calculation of Gauss quadrature rules",
   Math. Comp. 23, 221-230.
.. [4] IEC 61966-2-1:1999 / ITU-R BT.709-6: primaries and D65 white.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from core.sky.atmosphere import FloatArray, ozone_cross_section_m2

MAX_EFFICACY_LM_PER_W = 683.0
PHOTOPIC_WAVELENGTH_COUNT = 4
BLUE_WAVELENGTH_NM = 430.0
"""A fifth wavelength, used for colour only: luminance hardly sees it, the blue channel does."""

BAND_NM = np.arange(365.0, 740.0, 10.0)
_BAND_WIDTH_NM = 10.0

# W m-2 nm-1 [1], centred on BAND_NM.
_SUN = np.array([
    1.11776, 1.14259, 1.01249, 1.14716, 1.72765, 1.73054, 1.68870, 1.61253, 1.91198, 2.03474,
    2.02042, 2.02212, 1.93377, 1.95809, 1.91686, 1.82980, 1.86850, 1.89310, 1.85149, 1.85040,
    1.83410, 1.83450, 1.81470, 1.78158, 1.75330, 1.69650, 1.68194, 1.64654, 1.60480, 1.52143,
    1.55622, 1.51130, 1.47400, 1.44820, 1.41018, 1.36775, 1.34188, 1.31429,
])  # fmt: skip

# x-, y- and z-bar [2] at BAND_NM; y-bar is V(lambda).
_X_BAR = np.array([
    0.000232, 0.000742, 0.002236, 0.007650, 0.023190, 0.077630, 0.214770, 0.328500, 0.348060,
    0.318700, 0.251100, 0.142100, 0.057950, 0.014700, 0.002400, 0.029100, 0.109600, 0.225750,
    0.359700, 0.512050, 0.678400, 0.842500, 0.978600, 1.056700, 1.045600, 0.938400, 0.751400,
    0.541900, 0.360800, 0.218700, 0.121200, 0.063600, 0.032900, 0.015840, 0.008111, 0.004109,
    0.002049, 0.001000,
])  # fmt: skip
_Y_BAR = np.array([
    0.000007, 0.000022, 0.000064, 0.000217, 0.000640, 0.002180, 0.007300, 0.016840, 0.029800,
    0.048000, 0.073900, 0.112600, 0.169300, 0.258600, 0.407300, 0.608200, 0.793200, 0.914850,
    0.980300, 1.000000, 0.978600, 0.915400, 0.816300, 0.694900, 0.566800, 0.441200, 0.321000,
    0.217000, 0.138200, 0.081600, 0.044580, 0.023200, 0.011920, 0.005723, 0.002929, 0.001484,
    0.000740, 0.000361,
])  # fmt: skip
_Z_BAR = np.array([
    0.001086, 0.003486, 0.010550, 0.036210, 0.110200, 0.371300, 1.039050, 1.622960, 1.782600,
    1.744100, 1.528100, 1.041900, 0.616200, 0.353300, 0.212300, 0.111700, 0.057250, 0.029840,
    0.013400, 0.005750, 0.002750, 0.001800, 0.001400, 0.001000, 0.000600, 0.000240, 0.000100,
    0.000030, 0.000010, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
])  # fmt: skip

# XYZ to linear Rec.709, D65 [4].
_RGB_FROM_XYZ = np.array(
    [
        (3.2406, -1.5372, -0.4986),
        (-0.9689, 1.8758, 0.0415),
        (0.0557, -0.2040, 1.0570),
    ]
)
LUMINANCE_OF_RGB = np.array([0.2126, 0.7152, 0.0722])
"""Share of each linear Rec.709 channel in the luminance [4]_."""


def _illuminance_per_band() -> FloatArray:
    """What each 10 nm of unattenuated sunlight adds to the illuminance [lx]."""
    return np.asarray(MAX_EFFICACY_LM_PER_W * _Y_BAR * _SUN * _BAND_WIDTH_NM)


@cache
def photopic_quadrature() -> tuple[FloatArray, FloatArray]:
    """Gauss wavelengths and weights for the eye's view of sunlight [3]_.

    Returns
    -------
    wavelength_nm, weight_lx : ndarray of 4
        A luminance is sum(weight * L / E) over the wavelengths, with L / E the radiance per
        unit of sunlight above the air. The weights add up to the illuminance of that sunlight.
    """
    measure = _illuminance_per_band()
    mean = float(np.average(BAND_NM, weights=measure))
    diagonal, off_diagonal = _recurrence(BAND_NM - mean, measure / measure.sum())
    jacobi = np.diag(diagonal) + np.diag(off_diagonal, 1) + np.diag(off_diagonal, -1)
    nodes, vectors = np.linalg.eigh(jacobi)
    return nodes + mean, np.asarray(vectors[0] ** 2 * measure.sum())


def _recurrence(x: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Coefficients of the polynomials orthonormal under a discrete measure (Stieltjes)."""
    count = PHOTOPIC_WAVELENGTH_COUNT
    diagonal, off_diagonal = np.zeros(count), np.zeros(count)
    previous, current = np.zeros_like(x), np.ones_like(x)
    for k in range(count):
        diagonal[k] = np.sum(weight * x * current**2)
        step = (x - diagonal[k]) * current - (off_diagonal[k - 1] * previous if k else 0.0)
        off_diagonal[k] = np.sqrt(np.sum(weight * step**2))
        previous, current = current, step / off_diagonal[k]
    return diagonal, off_diagonal[:-1]


def solver_wavelengths_nm() -> FloatArray:
    """Every wavelength the sky is solved at: blue for colour, then the photopic four."""
    return np.concatenate([[BLUE_WAVELENGTH_NM], photopic_quadrature()[0]])


def luminance(per_sunlight: FloatArray) -> FloatArray:
    """Luminance [cd/m2] from radiance per unit sunlight at `solver_wavelengths_nm` (last axis)."""
    return np.asarray(per_sunlight[..., 1:] @ photopic_quadrature()[1])


@cache
def _spread_matrix() -> FloatArray:
    """From the logarithms at the solver's wavelengths to those of every band.

    The logarithm of skylight over sunlight is smooth in wavelength except for the ozone band,
    so it is written as a cubic plus a multiple of the ozone cross-section, exact at the five.
    """
    at_solver = _spectral_basis(solver_wavelengths_nm())
    return np.asarray(_spectral_basis(BAND_NM) @ np.linalg.inv(at_solver))


def _spectral_basis(wavelength_nm: FloatArray) -> FloatArray:
    x = (wavelength_nm - 550.0) / 100.0
    ozone = ozone_cross_section_m2(wavelength_nm) * 1e25
    return np.stack([np.ones_like(x), x, x**2, x**3, ozone], axis=-1)


def linear_rgb(per_sunlight: FloatArray) -> FloatArray:
    """Linear Rec.709 channels of skylight, normalised to luminance 1.

    Parameters
    ----------
    per_sunlight : ndarray (..., 5)
        Radiance per unit sunlight at `solver_wavelengths_nm`, all positive.

    Returns
    -------
    ndarray (..., 3)
        Channels with `LUMINANCE_OF_RGB` @ rgb = 1. A colour outside the gamut is drawn
        toward grey until its least channel is 1 % of the luminance.
    """
    spectrum = np.exp(np.log(per_sunlight) @ _spread_matrix().T)
    return rgb_of_spectrum(spectrum)


def rgb_of_spectrum(band_per_sunlight: FloatArray) -> FloatArray:
    """Linear Rec.709 channels, luminance 1, of a spectrum over sunlight given at `BAND_NM`."""
    observer = np.stack([_X_BAR, _Y_BAR, _Z_BAR], axis=-1) * _SUN[:, None]
    xyz = band_per_sunlight @ observer
    rgb = (xyz / xyz[..., 1:2]) @ _RGB_FROM_XYZ.T
    return _into_gamut(rgb / (rgb @ LUMINANCE_OF_RGB)[..., None])


def _into_gamut(rgb: FloatArray) -> FloatArray:
    """Mix in just enough grey of the same luminance for the least channel to reach 0.01."""
    least = rgb.min(axis=-1, keepdims=True)
    grey_share = np.clip((0.01 - least) / (1.0 - least), 0.0, 1.0)
    return np.asarray(rgb + grey_share * (1.0 - rgb))
