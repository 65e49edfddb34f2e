"""The sky of a night, with its cloud and the glow of towns, read at several suns at once."""

from __future__ import annotations

import numpy as np
import pytest

from core.sky.actual import ActualSky
from tests.skies import rms, shipped


@pytest.mark.parametrize("okta", [0.0, 3.0, 8.0])
@pytest.mark.parametrize("glow", [0.0, 0.01])
def test_settled_suns_agree_with_the_sky(okta: float, glow: float) -> None:
    sky = ActualSky(shipped().at(0.08, 60.0), okta, glow)
    rng = np.random.default_rng(9)
    view, azimuth = rng.uniform(0.0, 90.0, (4, 250)), rng.uniform(-180.0, 180.0, (4, 250))
    suns = np.array([-16.0, -11.3, -6.0, -2.2, 0.4, 3.9])
    settled = sky.at_suns(suns).luminance(view, azimuth)
    direct = sky.luminance(suns, view[..., None], azimuth[..., None])
    assert settled.shape == (4, 250, 6)
    assert np.abs(np.log2(settled / direct)).max() < 0.03
    assert rms(np.log2(settled / direct)) < 0.005
