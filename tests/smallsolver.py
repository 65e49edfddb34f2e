"""The offline solver at a resolution that tests can afford."""

from __future__ import annotations

import numpy as np

from core.sky.orders import Grid

# Some hundredths of a stop less exact than the grid of the shipped table.
COARSE = Grid(
    height_km=np.array(
        [0.0, 0.5, 1.5, 3.0, 5.0, 8.0, 12.0, 17.0, 23.0, 30.0, 38.0, 48.0, 60.0, 75.0, 100.0, 120.0]
    ),
    sun_zenith_deg=np.concatenate(
        [
            [0.0, 30.0, 50.0, 64.0, 72.0, 78.0, 82.0, 84.5],
            np.arange(86.0, 107.0),
            [109.0, 112.0, 118.0],
        ]
    ),
    theta_deg=np.array(
        [0.0, 24.0, 45.0, 62.0, 75.0, 84.0, 90.0, 96.0, 105.0, 118.0, 135.0, 157.0, 180.0]
    ),
    phi_deg=np.array([0.0, 12.0, 25.0, 42.0, 63.0, 88.0, 114.0, 138.0, 160.0, 180.0]),
    upper=14,
    lower=8,
    around=8,
    steps=28,
    fine_steps=80,
    orders=6,
)
