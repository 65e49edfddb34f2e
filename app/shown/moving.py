"""What moves in the picture and what the air means, as the window shows it."""

from __future__ import annotations

from app.widgets.readout import Cell
from core.flightscene import wind_m_s
from core.language import say
from core.measures import length_text, speed_text, temperature_text, warmer_text
from core.motion import Motion
from core.names import subject_text
from core.outlook import Outlook
from core.plan import Plan
from core.steadiness import SOFT_PX
from core.weather import cloud_base_m, contrast_share, dew_point_c, spread_c
from core.words import (
    NOTHING,
    cut_down,
    cut_up,
    kept_text,
    number_text,
    percent_text,
    px_text,
    share_text,
)

_HEAD = ("", say("distance"), say("a frame"), say("an exposure"))


def subject_rows(motion: Motion) -> tuple[tuple[Cell, ...], ...]:
    """What moves by itself, at the middle distance and at the nearest."""
    rows = [tuple(Cell(text, ink="ink3", size_px=11) for text in _HEAD)]
    for moving in motion.moving:
        name, speed = subject_text(moving.name), speed_text(moving.speed_m_s, None)
        whole = say("{name}, {speed}, mid-picture", name=name, speed=speed)
        middle = (moving.distance_m, moving.px_per_frame, moving.smear_px)
        near = (moving.near_m, moving.near_px_per_frame, moving.near_smear_px)
        rows.append(_shifted(whole, *middle))
        rows.append(_shifted(say("{name}, nearest", name=name), *near))
    return tuple(rows)


def _shifted(
    name: str, distance_m: float, px_per_frame: float, smear_px: float
) -> tuple[Cell, ...]:
    texts = (length_text(distance_m), px_text(px_per_frame), px_text(smear_px))
    return Cell(name, ink="ink2"), *(Cell(text) for text in texts)


def camera_rows(motion: Motion) -> tuple[tuple[Cell, ...], ...]:
    """What the path and the craft do to standing things."""
    near = NOTHING if motion.near_m is None else length_text(motion.near_m)
    limit = number_text(cut_down(motion.pan_limit_px, 0.1), 1)
    return _facts(
        (say("nearest ground"), near),
        (
            say("the camera's turn, at most"),
            say("{pixels} a frame", pixels=px_text(motion.turn_px_per_frame)),
        ),
        (
            say("the nearest ground, at most"),
            say(
                "{pixels} a frame",
                pixels=px_text(motion.scenery_px_per_frame),
            ),
        ),
        (say("the pan rule holds to"), say("{limit} px a frame", limit=limit)),
        (
            say("smear by the path, at most"),
            say("{pixels} an exposure", pixels=px_text(motion.path_smear_px)),
        ),
        (say("smear by the gimbal"), say("{pixels} an exposure", pixels=px_text(motion.jitter_px))),
        (
            say("smear by the hover"),
            say("{pixels} an exposure", pixels=px_text(motion.middle_drift_px)),
        ),
        (
            say("frames beyond {limit} px by gimbal and hover", limit=number_text(SOFT_PX)),
            share_text(motion.soft_share),
        ),
        (
            say("shutter open for"),
            say("{share} of the interval", share=share_text(motion.streak_share)),
        ),
    )


def air_rows(plan: Plan, seen: Outlook, motion: Motion) -> tuple[tuple[Cell, ...], ...]:
    """What the typed air means at height and for the lens."""
    air, height_m = seen.shoot.conditions, motion.sweep.height_m
    mean, limit = wind_m_s(air, height_m), plan.craft.wind_limit_m_s
    share = percent_text(cut_up(100.0 * mean / limit))
    return _facts(
        (
            say("wind at {height}", height=length_text(height_m)),
            say("{mean}, {share} of the craft's limit", mean=_speed(mean), share=share),
        ),
        (
            say("gusts there"),
            say(
                "{gust}, the limit is {limit}",
                gust=_speed(motion.gust_m_s),
                limit=speed_text(limit),
            ),
        ),
        *_damp(air.temperature_c, air.humidity_percent),
        (say("contrast at mid-ground"), _contrast(motion.middle_m, air.visibility_km)),
    )


def _damp(celsius: float, percent: float | None) -> tuple[tuple[str, str], ...]:
    if percent is None:
        return (say("dew point"), NOTHING), (say("cloud base"), NOTHING)
    spread = warmer_text(spread_c(celsius, percent), cut=cut_down)
    base = length_text(cloud_base_m(celsius, percent), cut=cut_down)
    dew = temperature_text(dew_point_c(celsius, percent), 1)
    return (say("dew point"), say("{dew}, the air is {spread} above", dew=dew, spread=spread)), (
        say("cloud base"),
        say("from {base}", base=base),
    )


def _contrast(distance_m: float | None, visibility_km: float | None) -> str:
    if distance_m is None or visibility_km is None:
        return NOTHING
    left = kept_text(contrast_share(distance_m / 1000.0, visibility_km))
    return say("{left} is left at {distance}", left=left, distance=length_text(distance_m))


def _speed(m_s: float) -> str:
    return speed_text(m_s, cut=cut_up)


def _facts(*rows: tuple[str, str]) -> tuple[tuple[Cell, ...], ...]:
    return tuple((Cell(label, ink="ink2"), Cell(value, 600)) for label, value in rows)
