"""Every start of a night against a judge that only knows the tones of each frame."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
import random
from typing import Any

import numpy as np
import pytest

from core.edit import new_plan, with_values
from core.forecast import outlook, starts
from core.judge import LIMITS
from core.light import GRID_S as LIGHT_STEP_S
from core.memory import Memory
from core.plan import Plan
from core.scales import with_setting, with_shoot
from core.starts import GRID_S, SAME_CHANCE, Starts, starts_window_s
from core.tones import Tones
from tests.dusk import arrays_of, december_plan


class PlainJudge:
    """The rules of good starts once more, frame by frame, in plain loops."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    def frame(self, tones: Tones, index: int, count: int) -> dict[str, float]:
        """Stops to each limit that applies to a frame."""
        bands, slack = self.plan.bands, {}
        street, land = float(tones.street.stops[index]), float(tones.land.stops[index])
        if tones.street.frame_share[index] >= 0.01:
            slack["street_high"] = bands.street.high_stops - street
            slack["street_low"] = street - bands.street.low_stops
            output = float(tones.lamp_output[index])
            if bands.lamps_wanted and output < 0.5:
                slack["lamps"] = max(math.log2(2.0 * output), -6.0) if output > 0.0 else -6.0
        if tones.land.frame_share[index] >= 0.01:
            slack["land_high"] = bands.land.high_stops - land
            if index < math.ceil(bands.land.low_share * count - 1e-9):
                slack["land_low"] = land - bands.land.low_stops
        limit_tone = float(tones.sky.limit_stops[index])
        if not math.isnan(limit_tone):
            slack["sky_clip"] = self.plan.camera.highlight_stops - limit_tone
        return slack

    def take(self, tones: Tones) -> tuple[float, set[str]]:
        """Slack of a take with its worst frames let off, and the limits that may bind."""
        count = len(tones.time_s)
        frames = [self.frame(tones, index, count) for index in range(count)]
        worst = sorted(min(frame.values(), default=math.inf) for frame in frames)
        slack = worst[math.floor(self.plan.bands.excused_share * count + 1e-9)]
        binding = {
            name
            for frame in frames
            for name, stops in frame.items()
            if abs(stops - slack) < 0.02 and min(frame.values()) > slack - 0.02
        }
        return slack, binding

    def start(self, press_s: float, memory: Memory) -> tuple[float, set[str]]:
        """Judge the take that starts at an instant."""
        night = outlook(self.plan, "A", memory).night
        minutes = (press_s - night.event.time_s) / 60.0
        shoot = with_setting(self.plan.shoots.A, "start_after_event_min", minutes)  # type: ignore[arg-type]
        return self.take(outlook(with_shoot(self.plan, "A", shoot), "A", memory).tones)


def random_plan(seed: int) -> Plan:
    """Draw a plan round a dusk or a dawn, with every rule of judging in play."""
    draw = random.Random(seed)  # noqa: S311
    date = dt.date(2026, 1, 1) + dt.timedelta(days=draw.randrange(365))
    place = draw.uniform(-62.0, 66.0), draw.uniform(-180.0, 180.0)
    plan = new_plan("Anywhere", *place, date, "UTC")
    values: dict[str, Any] = {
        "shoots.A.twilight": draw.choice(["dusk", "dawn"]),
        "shoots.A.interval_s": draw.choice([2.0, 3.0, 4.7, 7.3, 11.0]),
        "shoots.A.clip_length_s": draw.uniform(0.1, 8.0),
        "shoots.A.shutter_s": draw.choice([0.25, 0.5, 1.0, 2.0]),
        "shoots.A.iso": draw.choice([100.0, 200.0, 400.0]),
        "shoots.A.nd_stops": draw.choice([0.0, 0.0, 3.0]),
        "shoots.A.path_reversed": draw.random() < 0.5,
        "shoots.A.conditions.cloud_okta": draw.uniform(0.0, 8.0),
        "shoots.A.conditions.haze_aod": draw.uniform(0.05, 0.4),
        "path.timing": draw.choice(["minimum_jerk", "constant_middle"]),
        "path.stations": [
            {
                "east_m": 30.0 * n,
                "heading_deg": draw.uniform(0.0, 360.0),
                "pitch_deg": draw.uniform(-60.0, 20.0),
            }
            for n in range(draw.choice([1, 2, 3]))
        ],
        "place.skyline": draw.choice([[], [[90.0, 2.0], [270.0, 9.0]]]),
        "camera.highlight_stops": draw.choice([2.8, 3.26]),
        "ground.lamps.luminance_cd_m2": draw.choice([0.0, 0.3, 0.75, 3.0]),
        "ground.lamps.lit_share": draw.choice([0.0, 0.012, 0.25, 0.25, 1.0]),
        "ground.lamps.warm_up_min": draw.choice([0.0, 4.0]),
        "ground.lamps.switching.kind": draw.choice(["level", "clock", "offset"]),
        "bands.lamps_wanted": draw.random() < 0.3,
        "bands.land.low_share": draw.choice([0.0, 0.4, 1.0]),
        "bands.sky.clip_area_share": draw.choice([0.0, 0.004, 0.08, 0.3]),
        "bands.excused_share": draw.choice([0.0, 0.05, 0.2]),
    }
    return with_values(plan, values)


@pytest.mark.parametrize("seed", range(48))
def test_against_plain_loops(seed: int) -> None:
    _check(random_plan(seed), seed % 7, 12)


def _check(plan: Plan, first: int, count: int) -> Starts:
    """Hold so many starts of a night and the edges of its span against the plain judge."""
    memory = Memory()
    found, judge = starts(plan, "A", memory), PlainJudge(plan)
    coarse = range(first, len(found.time_s), max(1, len(found.time_s) // count))
    for index in coarse:
        slack, binding = judge.start(float(found.time_s[index]), memory)
        assert found.slack_stops[index] == pytest.approx(slack, abs=0.02)
        code = int(found.limit[index])
        assert LIMITS[code] in binding if code >= 0 else math.isinf(slack)
    _check_span(found, judge, memory, coarse)
    return found


def _check_span(found: Starts, judge: PlainJudge, memory: Memory, coarse: range) -> None:
    """Edges hold and what lies just beyond does not; no start of a coarse grid is better."""
    slacks = [judge.start(float(found.time_s[index]), memory)[0] for index in coarse]
    assert found.nearest_slack_stops >= max(slacks) - 0.02
    if found.best_s is None or found.earliest_s is None or found.latest_s is None:
        assert max(slacks) < 0.02
        return
    assert found.earliest_s <= found.best_s <= found.latest_s
    for inside in (found.earliest_s, found.best_s, found.latest_s):
        assert judge.start(inside, memory)[0] >= -0.02
    beyond = (
        (found.earliest_s, -GRID_S, found.time_s[0]),
        (found.latest_s, GRID_S, found.time_s[-1]),
    )
    for edge_s, step_s, end_s in beyond:
        if edge_s != end_s:
            assert judge.start(edge_s + step_s, memory)[0] < 0.02
    within = [s for s, k in zip(slacks, coarse, strict=True)
              if found.earliest_s <= found.time_s[k] <= found.latest_s]  # fmt: skip
    assert min(within, default=0.0) >= -0.02


@pytest.mark.parametrize("first", range(1000, 1200, 10))
def test_hundreds_of_plans_against_plain_loops(first: int) -> None:
    """Shorter: a few starts of each of two hundred plans, and the edges of their spans."""
    for seed in range(first, first + 10):
        short = {"shoots.A.clip_length_s": 0.1 + 0.2 * (seed % 7)}
        _check(with_values(random_plan(seed), short), seed % 11, 4)


@pytest.mark.parametrize("seed", range(2000, 2010))
def test_every_start_of_the_full_grid_against_plain_loops(seed: int) -> None:
    plan, memory = random_plan(seed), Memory()
    plan = with_values(plan, {"shoots.A.clip_length_s": 0.1 + 0.05 * (seed % 10)})
    found, judge = starts(plan, "A", memory), PlainJudge(plan)
    told = [judge.start(float(time_s), memory)[0] for time_s in found.time_s]
    assert found.slack_stops == pytest.approx(np.array(told), abs=0.02)
    good = np.array(told) >= 0.0
    if good.any() and found.best_s is not None:
        likely = good & (found.p_hold >= found.p_hold[good].max() - SAME_CHANCE)
        best = int(np.abs(found.time_s - found.best_s).argmin())
        assert told[best] >= np.array(told)[likely].max() - 0.02


#: Nights that go round a corner: polar ones, a clock change, the date line, lamps never off.
CORNERS: tuple[tuple[float, float, str, str, str], ...] = (
    (70.4, 26.3, "Europe/Oslo", "2026-12-21", "dusk"),
    (70.4, 26.3, "Europe/Oslo", "2026-06-21", "dusk"),
    (78.0, 16.0, "Arctic/Longyearbyen", "2026-12-21", "dawn"),
    (65.5, 25.0, "Europe/Helsinki", "2026-06-05", "dusk"),
    (65.5, 25.0, "Europe/Helsinki", "2026-06-05", "dawn"),
    (52.0, 5.0, "Europe/Amsterdam", "2026-10-25", "dawn"),
    (52.0, 5.0, "Europe/Amsterdam", "2026-03-29", "dusk"),
    (-16.8, 179.9, "Pacific/Fiji", "2026-05-01", "dusk"),
    (-13.8, -171.8, "Pacific/Apia", "2026-05-01", "dawn"),
    (60.2, 19.9, "Europe/Mariehamn", "2026-06-21", "dusk"),
)


@pytest.mark.parametrize(("latitude", "longitude", "zone", "date", "twilight"), CORNERS)
def test_nights_that_go_round_a_corner(
    latitude: float, longitude: float, zone: str, date: str, twilight: str
) -> None:
    plan = new_plan("Corner", latitude, longitude, dt.date.fromisoformat(date), zone)
    plan = with_values(plan, {"shoots.A.twilight": twilight, "shoots.A.clip_length_s": 2.0})
    found = _check(plan, 3, 8)
    assert np.all((found.p_hold >= 0.0) & (found.p_hold <= 1.0))
    assert np.all(np.diff(found.time_s) > 0.0)


@pytest.mark.parametrize("seed", range(100, 112))
def test_between_the_starts_listed(seed: int) -> None:
    plan, memory = random_plan(seed), Memory()
    found, judge = starts(plan, "A", memory), PlainJudge(plan)
    draw = random.Random(seed)  # noqa: S311
    for _ in range(10):
        place = draw.uniform(0.0, len(found.time_s) - 2.0)
        index, share = int(place), place % 1.0
        press_s = float(found.time_s[index]) + share * GRID_S
        slack, _ = judge.start(press_s, memory)
        around = found.slack_stops[index : index + 2]
        assert around.min() - 0.02 <= slack <= around.max() + 0.02


def test_starts_fall_on_the_samples_of_the_light() -> None:
    # So that straight lines between both are the same lines.
    assert LIGHT_STEP_S % GRID_S == 0.0


@pytest.mark.parametrize(
    ("latitude", "date"),
    [(0.0, "2026-03-20"), (38.0, "2026-12-05"), (61.0, "2026-06-21"), (70.0, "2026-06-21"),
     (70.0, "2026-12-21"), (89.9, "2026-12-21"), (-66.0, "2026-12-21")],
)  # fmt: skip
@pytest.mark.parametrize("twilight", ["dusk", "dawn"])
def test_the_window_lies_on_its_side_of_midnight(latitude: float, date: str, twilight: str) -> None:
    plan = december_plan(
        place__latitude_deg=latitude, shoots__A__date=date, shoots__A__twilight=twilight
    )
    seen = outlook(plan, "A", Memory())
    first, last = starts_window_s(seen.night, seen.light)
    assert first < last
    # A sample of the light to either side of midnight.
    if twilight == "dusk":
        assert seen.night.start_s <= first
        assert last <= seen.night.darkest_s + LIGHT_STEP_S
    else:
        assert seen.night.darkest_s - LIGHT_STEP_S <= first
        assert last <= seen.night.end_s + LIGHT_STEP_S


def solstice_plan(twilight: str, **values: Any) -> Plan:
    """Plan at solar midnight of the December solstice, the moon a day and a half old."""
    sign = 1.0 if twilight == "dusk" else -1.0
    stations = [
        {"heading_deg": sign * 80.0, "pitch_deg": -40.0},
        {"heading_deg": sign * 60.0, "pitch_deg": -20.0, "east_m": -50.0},
    ]
    return december_plan(
        place__latitude_deg=38.0,
        # The solstice of 2025 falls on 21 December, 15:03 UT: midnight at this longitude.
        place__longitude_deg=134.3,
        shoots__A__date="2025-12-21" if twilight == "dusk" else "2025-12-22",
        place__time_zone="Etc/GMT-9",
        shoots__A__twilight=twilight,
        shoots__A__path_reversed=twilight == "dawn",
        path__stations=stations,
        bands__land__low_share=1.0,
        **values,
    )


def mirrored_span(twilight: str) -> tuple[list[float], float]:
    """Span without lamps, a dawn's as seen from the dusk before it, and its best slack."""
    plan, memory = solstice_plan(twilight, ground__lamps__luminance_cd_m2=0.0), Memory()
    seen, every = outlook(plan, "A", memory), starts(plan, "A", memory)
    edges = [e for e in (every.earliest_s, every.latest_s) if e is not None]
    if twilight == "dusk":
        return [edge_s - seen.night.darkest_s for edge_s in edges], every.nearest_slack_stops
    ends = [edge_s + seen.clip.shooting_s for edge_s in reversed(edges)]
    return [seen.night.darkest_s - end_s for end_s in ends], every.nearest_slack_stops


def test_dawn_is_dusk_mirrored_while_no_lamp_switches() -> None:
    dusk, slack = mirrored_span("dusk")
    dawn, mirrored_slack = mirrored_span("dawn")
    assert len(dusk) == 2
    assert dusk[0] < dusk[1] - 60.0
    assert dawn == pytest.approx(dusk, abs=2.0 * GRID_S)
    assert mirrored_slack == pytest.approx(slack, abs=0.03)


def test_with_lamps_it_is_not_for_they_switch_at_other_levels() -> None:
    # On at 35 lx in the evening, off at 18 lx in the morning: they burn shorter at dawn.
    lamps = {}
    for twilight in ("dusk", "dawn"):
        light = outlook(solstice_plan(twilight), "A", Memory()).light
        assert light.lamps_on_s is not None
        assert light.lamps_off_s is not None
        night = outlook(solstice_plan(twilight), "A", Memory()).night
        lamps[twilight] = (night.darkest_s - light.lamps_on_s, light.lamps_off_s - night.darkest_s)
    for on_before_s, off_after_s in lamps.values():
        assert 180.0 < on_before_s - off_after_s < 300.0


def test_no_start_holds_in_the_wrong_direction() -> None:
    none = starts(
        december_plan(bands__street__high_stops=-1.0, bands__street__low_stops=0.0), "A", Memory()
    )
    assert none.best_s is none.earliest_s is none.latest_s is None
    assert none.nearest_slack_stops <= -0.5
    assert none.limit_at(none.nearest_s) in {"street_high", "street_low"}


def test_where_a_dark_stretch_is_all_the_same_its_middle_is_best() -> None:
    # Hours after dusk only the lamps count, and no start is better than another.
    plan = december_plan(bands__land__low_share=0.0, ground__lamps__luminance_cd_m2=0.36)
    found = starts(plan, "A", Memory())
    assert found.best_s is not None
    at = int(np.abs(found.time_s - found.best_s).argmin())
    good = found.slack_stops >= 0.0
    likely = good & (found.p_hold >= found.p_hold[good].max() - SAME_CHANCE)
    top = np.flatnonzero(likely & (found.slack_stops >= found.slack_stops[likely].max() - 1e-3))
    assert top.size > 1
    assert abs(at - (top[0] + top[-1]) / 2) <= 1


def test_of_a_stretch_of_the_night_the_same_rule_tells_the_best_start() -> None:
    found = starts(december_plan(), "A", Memory())
    assert found.best_s is not None
    assert found.best_between_s(found.time_s[0], found.time_s[-1]) == found.best_s
    assert found.best_between_s(found.time_s[0], found.time_s[0]) is None
    # A night that stays dark: all starts are the same, and the middle of the stretch is best.
    same = np.ones_like(found.time_s)
    dark = dataclasses.replace(found, slack_stops=same, p_hold=same)
    first_s, last_s = float(found.time_s[100]), float(found.time_s[300])
    assert dark.best_between_s(first_s, last_s) == pytest.approx((first_s + last_s) / 2.0)


def test_a_start_at_solar_midnight_itself_has_a_chance() -> None:
    plan = new_plan("Skerry", 69.5, 18.9, dt.date(2026, 6, 21), "Europe/Oslo")
    plan = with_values(plan, {"shoots.A.shutter_s": 0.1, "shoots.A.nd_stops": 6.0})
    found, memory = starts(plan, "A", Memory()), Memory()
    midnight_s = outlook(plan, "A", memory).night.darkest_s
    assert found.time_s[-1] < midnight_s
    assert found.chance_at(midnight_s) == pytest.approx(float(found.p_hold[-1]))
    assert found.chance_at(midnight_s + 60.0) is None


def test_a_take_of_very_many_frames_is_judged_at_fewer_starts() -> None:
    plan = december_plan(
        shoots__A__clip_length_s=600.0, shoots__A__frame_rate_fps=60.0, shoots__A__interval_s=1.0
    )
    memory = Memory()
    found = starts(plan, "A", memory)
    assert 36_000 * len(found.time_s) < 12_000_000
    assert len(found.time_s) > 20
    slack, _ = PlainJudge(plan).start(float(found.time_s[9]), memory)
    assert found.slack_stops[9] == pytest.approx(slack, abs=0.3)


def test_results_cannot_be_changed() -> None:
    assert not any(
        array.flags.writeable for array in arrays_of(starts(december_plan(), "A", Memory()))
    )
