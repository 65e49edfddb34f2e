"""What is held about a night: prior, reading, and what a reading leaves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from core.belief import (
    SURPRISE_SIGMAS,
    UNKNOWNS,
    Belief,
    Observation,
    after_reading,
    belief_before,
    surprise_sigmas,
    typed_belief,
)
from core.cloud import ambient_sigma_stops
from core.exposure import FloatArray
from core.plan import Part

STOPS = st.floats(-3.0, 3.0)


def seen(part: Part, off: float, sigma: float = 0.2, **values: float) -> Observation:
    """A part read so many stops off what the typed figures have for it."""
    figures = {
        "land_log2": 0.0, "lamp_log2": -np.inf, "sky_log2": 4.0,
        "ground_slope": -0.1, "sky_slope": -0.3, **values,
    }  # fmt: skip
    land, lamp = figures["land_log2"], figures["lamp_log2"]
    expected = {"land": land, "street": float(np.logaddexp2(land, lamp)), "sky": 4.0}[part]
    return Observation(part=part, log2=expected + off, sigma_stops=sigma, **figures)


def told(observation: Observation, belief: Belief) -> float:
    """What a belief expects an observation to show, log2 cd/m2: the parts added up once more."""
    day = belief.of("level") + belief.of("weather")
    if observation.part == "sky":
        haze = belief.of("haze") * observation.sky_slope
        return observation.sky_log2 + day + haze + belief.of("sky")
    land = observation.land_log2 + day + belief.of("haze") * observation.ground_slope
    if observation.part == "land":
        return land
    return float(np.logaddexp2(land, observation.lamp_log2 + belief.of("lamps")))


def ambient(belief: Belief) -> tuple[float, float]:
    mean = belief.of("level") + belief.of("weather")
    return mean, float(belief.sigma_stops(level=1.0, weather=1.0))


@given(okta=st.floats(0.0, 8.0))
def test_level_and_weather_together_are_as_unsure_as_the_published_ambient(okta: float) -> None:
    mean, sigma = ambient(typed_belief(okta))
    assert mean == 0.0
    assert sigma == pytest.approx(ambient_sigma_stops(okta))


@given(off=st.floats(-1.0, 1.0), sigma=st.floats(0.05, 2.0))
def test_one_land_reading_is_the_normal_mean_with_known_variance(off: float, sigma: float) -> None:
    # Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., eq. 2.10 with one observation:
    # precisions add, means weigh by precision (equation number from memory).
    belief = after_reading(typed_belief(0.0), [seen("land", off, sigma, ground_slope=0.0)])
    prior, noise = 1.0 / 0.4**2, 1.0 / sigma**2
    mean, after = ambient(belief)
    assert mean == pytest.approx(off * noise / (prior + noise), abs=1e-4)
    assert after == pytest.approx((prior + noise) ** -0.5, rel=1e-6)


def test_two_readings_at_once_are_the_same_as_one_after_the_other() -> None:
    one, other = seen("land", 0.7), seen("sky", -0.4)
    both = after_reading(typed_belief(2.0), [one, other])
    turn = after_reading(after_reading(typed_belief(2.0), [one]), [other])
    assert np.array(both.mean) == pytest.approx(np.array(turn.mean), abs=1e-9)
    assert np.array(both.covariance) == pytest.approx(np.array(turn.covariance), abs=1e-9)


@given(off=STOPS, lamp=st.floats(-6.0, 6.0))
def test_a_street_reading_is_met_better_after_it_than_before(off: float, lamp: float) -> None:
    reading = seen("street", off, lamp_log2=lamp)
    before = typed_belief(0.0)
    after = after_reading(before, [reading])
    assert abs(told(reading, after) - reading.log2) <= abs(off) + 1e-6
    for name in UNKNOWNS:
        assert after.sigma_of(name) <= before.sigma_of(name) + 1e-9


def test_a_street_under_lamps_alone_tells_of_the_lamps_and_by_day_of_the_daylight() -> None:
    by_night = after_reading(typed_belief(0.0), [seen("street", 1.0, 0.1, lamp_log2=8.0)])
    assert by_night.of("lamps") == pytest.approx(1.0, abs=0.05)
    assert abs(by_night.of("level")) < 0.02
    by_day = after_reading(typed_belief(0.0), [seen("street", 1.0, 0.1, lamp_log2=-9.0)])
    assert abs(by_day.of("lamps")) < 0.02
    assert ambient(by_day)[0] > 0.8


def test_a_reading_of_the_sky_says_less_of_the_ground_than_one_of_the_ground() -> None:
    sky = ambient(after_reading(typed_belief(0.0), [seen("sky", 1.0)]))
    land = ambient(after_reading(typed_belief(0.0), [seen("land", 1.0)]))
    assert 0.0 < sky[0] < land[0]
    assert land[1] < sky[1] < 0.4


def test_readings_that_cannot_all_be_right_make_nothing_surer() -> None:
    high, low = seen("street", 3.0, 0.25, lamp_log2=1.0), seen("street", -3.0, 0.25, lamp_log2=1.0)
    before = typed_belief(0.0)
    after = after_reading(before, [high, low])
    for name in UNKNOWNS:
        assert after.sigma_of(name) > 0.95 * before.sigma_of(name)
    assert surprise_sigmas(before, [high, low]) > SURPRISE_SIGMAS


def test_a_reading_beyond_all_likelihood_is_not_believed_as_it_stands() -> None:
    far, near = (
        ambient(after_reading(typed_belief(0.0), [seen("land", off, 0.2)]))[0] for off in (9.0, 1.2)
    )
    assert abs(far) < near
    assert surprise_sigmas(typed_belief(0.0), [seen("land", 1.2, 0.2)]) < SURPRISE_SIGMAS
    assert surprise_sigmas(typed_belief(0.0), []) == 0.0


def test_what_was_learned_for_good_stands_until_it_is_read_again() -> None:
    before = belief_before(0.0, {"lamps": (0.8, 0.2)})
    assert (before.of("lamps"), before.sigma_of("lamps")) == pytest.approx((0.8, 0.2))
    assert before.of("weather") == 0.0


@pytest.mark.parametrize("off", [-1.5, -2.0, -3.0, 3.0])
@pytest.mark.parametrize(("land", "lamp"), [(0.0, 0.0), (1.0, 2.0), (2.0, 1.0)])
def test_a_street_far_from_what_was_expected_finds_the_likeliest_night(
    off: float, land: float, lamp: float
) -> None:
    # Against scipy's general minimiser of the same misfit; a reading as unsure as its own
    # distance asks for, so that it is believed as it stands.
    before, reading = typed_belief(0.0), seen("street", off, 1.0, land_log2=land, lamp_log2=lamp)
    sigma = np.array([before.sigma_of(name) for name in UNKNOWNS])

    def misfit(values: FloatArray) -> float:
        held = Belief(tuple(values.tolist()), before.covariance)
        missed = (reading.log2 - told(reading, held)) / reading.sigma_stops
        return float(missed**2 + ((values / sigma) ** 2).sum())

    least = min(
        float(minimize(misfit, start, method="BFGS").fun)
        for start in (np.zeros(5), np.array([off / 2, off / 2, 0.0, off, 0.0]))
    )
    found = misfit(np.array(after_reading(before, [reading]).mean))
    assert found <= least + 0.02
