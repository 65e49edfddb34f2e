"""The stated uncertainties of the light against measurements and published classes.

A figure without a published spread is our judgement: it is written down here, so that
nobody changes it without saying so.
"""

from __future__ import annotations

import numpy as np
import pytest

from core.belief import LEVEL_SIGMA_STOPS, SKY_SIGMA_STOPS
from core.cloud import CLEAR_SIGMA_STOPS, CLOUDY_SIGMA_STOPS
from core.lamps import LAMP_SIGMA_STOPS
from core.skies import HAZE_SIGMA_DOUBLINGS, HAZE_WORDS
from core.sky.actual import OVERCAST_GLOW_FACTOR
from tests.dusk import rows
from tests.reference.test_sky_koomen import measured, sky_of
from tests.skies import rms


def test_the_skys_own_doubt_covers_the_measured_sky_and_not_much_more() -> None:
    # Koomen et al. 1952, JOSA 42:353, Table I: at the default haze the measured sky departs by
    # 0.3 stop in shape and 0.4 in all; the doubt is a little above, for skies not measured.
    difference = measured(10.0).difference(sky_of(0.12))
    assert rms(difference) < SKY_SIGMA_STOPS < 1.4 * rms(difference)


def test_with_the_ambient_level_two_thirds_of_the_measured_sky_lie_within_one_sigma() -> None:
    difference = measured(10.0).difference(sky_of(0.12))
    within = np.mean(np.abs(difference) <= np.hypot(SKY_SIGMA_STOPS, CLEAR_SIGMA_STOPS))
    assert within >= 0.68


def test_lamps_of_a_neighbouring_class_lie_within_one_sigma() -> None:
    # EN 13201-2:2015, Table 3: classes P1 to P6 step by 0.4 to 0.7 stop. One class either way
    # and a surface half as bright again are within a sigma (common practice, no source).
    lux = np.array(
        [
            float(row["average"])
            for row in rows("en13201_classes.csv")
            if row["class"].startswith("P") and row["average"]
        ]
    )
    assert len(lux) == 6
    assert np.abs(np.diff(np.log2(lux))).max() <= LAMP_SIGMA_STOPS
    assert pytest.approx(1.0) == LAMP_SIGMA_STOPS


def test_haze_told_by_eye_is_told_to_the_next_word_in_two_sigmas() -> None:
    # Our judgement: who says normal is hardly ever wrong by a whole word.
    words = np.log2(np.array([HAZE_WORDS[word] for word in ("clear", "normal", "hazy")]))
    assert np.all(np.diff(words) >= 2.0 * HAZE_SIGMA_DOUBLINGS)
    assert np.all(np.diff(words) <= 2.5 * HAZE_SIGMA_DOUBLINGS)


def test_published_spreads_of_daylight() -> None:
    # Clear: spread of Brown 1952, Koomen et al. 1952 and Spitschan et al. 2016; any weather:
    # Spitschan et al. 2016, Sci. Rep. 6:26756, Fig. 2. Half the clear variance stays with the
    # place (our judgement).
    assert (CLEAR_SIGMA_STOPS, CLOUDY_SIGMA_STOPS) == (0.4, 1.0)
    assert pytest.approx(CLEAR_SIGMA_STOPS**2 / 2.0) == LEVEL_SIGMA_STOPS**2


def test_cloud_throws_back_the_light_of_towns_as_published() -> None:
    # Kyba, Ruhtz, Fischer & Hölker 2011, PLoS ONE 6:e17307: up to ten times (from memory).
    assert pytest.approx(10.0) == OVERCAST_GLOW_FACTOR
