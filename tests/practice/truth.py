"""What is true of a practice take and hidden from the code under test.

What stays with place and camera (`Lasting`) is drawn apart from what is one night's
(`Tonight`) and from how one take went (`Handling`), so that several takes can share the first.
Light departs from the plan by the figures of `core.belief`, each by its own stated sigma.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal, get_args

import numpy as np

from core.belief import LEVEL_SIGMA_STOPS, typed_belief
from core.clip import clip_of
from core.lamps import LAMP_SIGMA_STOPS
from core.plan import Plan, ShootName

Curve = Literal["plain", "contrasty", "flat"]
Broken = Literal["empty", "cut", "bytes", "text", "hostile_exif", "huge"]
CURVES: tuple[Curve, ...] = get_args(Curve)
BROKEN: tuple[Broken, ...] = get_args(Broken)

#: 1-sigma of what the plan states no uncertainty for (our judgement).
HIGHLIGHT_SIGMA_STOPS = 0.25
LAMPS_LATE_SIGMA_S = 180.0


@dataclass(frozen=True)
class Lasting:
    """What the place and the camera are, night after night.

    `level_stops` and `lamps_stops` are as in `core.belief`. `highlight_stops` is where a white
    clips, above mid-grey. `vignette_stops` are lost in the corners. `ground_seed` draws the
    ground.
    """

    level_stops: float = 0.0
    lamps_stops: float = 0.0
    highlight_stops: float = 3.26
    curve: Curve = "plain"
    vignette_stops: float = 0.3
    ground_seed: int = 1


@dataclass(frozen=True)
class Tonight:
    """What one night was: `weather_stops`, `haze_sigmas`, `sky_stops` as in `core.belief`.

    `lamps_late_s` is how long after the instant that the place's switching gives, in this
    night's light, the lamps came on or went off. `glow_stops` is how far the sky brightens to
    the horizon under the sun, `cloud_stops` the 1-sigma of its clouds.
    """

    weather_stops: float = 0.0
    haze_sigmas: float = 0.0
    sky_stops: float = 0.0
    lamps_late_s: float = 0.0
    glow_stops: float = 1.5
    cloud_stops: float = 0.15


@dataclass(frozen=True)
class Change:
    """Settings that someone or something changed from a frame of the plan on."""

    frame: int
    shutter_s: float | None = None
    iso: float | None = None
    f_number: float | None = None


@dataclass(frozen=True)
class Handling:
    """How the take went, and what else lies in its folder.

    `press_late_s` after the plan's start; `interval_error_s` by which the real interval is
    longer; `jitter_s` 1-sigma of each release. `clock_error_s` is camera clock less true time.
    `drift_m_min` (east, north) is how the craft slides off its path, `wander_px` and `shake_px`
    the 1-sigma of its slow and of its frame-to-frame aiming faults, in pixels of the still.
    `flicker_stops` is the rms of exposure from frame to frame. `missing` frames were never
    taken, `torn` ones end in the middle of the file; both count from 0 in the plan's frames.
    """

    press_late_s: float = 0.0
    interval_error_s: float = 0.0
    jitter_s: float = 0.01
    clock_error_s: float = 0.0
    drift_m_min: tuple[float, float] = (0.0, 0.0)
    wander_px: float = 0.0
    shake_px: float = 0.0
    flicker_stops: float = 0.0
    missing: tuple[int, ...] = ()
    torn: tuple[int, ...] = ()
    changes: tuple[Change, ...] = ()
    strangers: int = 0
    broken: tuple[Broken, ...] = ()


@dataclass(frozen=True)
class Truth:
    """All that is true of a take and that its plan does not know."""

    lasting: Lasting = field(default_factory=Lasting)
    tonight: Tonight = field(default_factory=Tonight)
    handling: Handling = field(default_factory=Handling)


def drawn_lasting(plan: Plan, rng: np.random.Generator) -> Lasting:
    """Draw a place and a camera by the plan's own uncertainty about them.

    The curve departs from a plain one at random; where it clips, by our judgement.
    """
    return Lasting(
        level_stops=float(rng.normal(0.0, LEVEL_SIGMA_STOPS)),
        lamps_stops=float(rng.normal(0.0, LAMP_SIGMA_STOPS)),
        highlight_stops=plan.camera.highlight_stops + float(rng.normal(0.0, HIGHLIGHT_SIGMA_STOPS)),
        curve=CURVES[int(rng.integers(len(CURVES)))],
        vignette_stops=float(rng.uniform(0.0, 0.6)),
        ground_seed=int(rng.integers(1 << 31)),
    )


def drawn_tonight(plan: Plan, name: ShootName, rng: np.random.Generator) -> Tonight:
    """Draw a night by the uncertainty that its typed cloud leaves."""
    okta = plan.shoot(name).conditions.cloud_okta
    before = typed_belief(okta)
    return Tonight(
        weather_stops=float(rng.normal(0.0, before.sigma_of("weather"))),
        haze_sigmas=float(rng.normal(0.0, before.sigma_of("haze"))),
        sky_stops=float(rng.normal(0.0, before.sigma_of("sky"))),
        lamps_late_s=float(rng.normal(0.0, LAMPS_LATE_SIGMA_S)),
        glow_stops=float(rng.uniform(0.5, 2.5)),
        cloud_stops=float(rng.uniform(0.05, 0.1 + 0.05 * okta)),
    )


def drawn_handling(plan: Plan, name: ShootName, rng: np.random.Generator) -> Handling:
    """Draw how a take went: late, drifting, flickering, with some frames missing.

    The first and the last frame are always there: without them nothing tells of those missing.
    """
    inner = np.arange(1, clip_of(plan.shoot(name), plan.camera).frames - 1)
    gone = rng.choice(inner, size=min(int(rng.poisson(2.0)), len(inner)), replace=False)
    return Handling(
        press_late_s=float(rng.normal(0.0, 40.0)),
        interval_error_s=float(rng.normal(0.0, 0.004 * plan.shoot(name).interval_s)),
        jitter_s=0.01,
        clock_error_s=float(rng.normal(0.0, 20.0)),
        drift_m_min=(float(rng.normal(0.0, 0.5)), float(rng.normal(0.0, 0.5))),
        wander_px=float(rng.uniform(0.0, 2.0)),
        shake_px=float(rng.uniform(0.0, 0.6)),
        flicker_stops=float(rng.uniform(0.005, 0.06)),
        missing=tuple(sorted(int(frame) for frame in gone)),
    )


def drawn_truth(plan: Plan, name: ShootName, seed: int, lasting: Lasting | None = None) -> Truth:
    """Draw all of a take; of a place and a camera that are given, the rest alone."""
    rng = np.random.default_rng(seed)
    drawn = Truth(
        drawn_lasting(plan, rng), drawn_tonight(plan, name, rng), drawn_handling(plan, name, rng)
    )
    return drawn if lasting is None else replace(drawn, lasting=lasting)
