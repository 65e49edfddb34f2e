"""What takes of any length see from any start, read from one table of the evening.

A frame stands at a share of the way at a time of the evening. One table over both, read once
for a night and a path, holds every take: a start is a diagonal through it, flatter the longer
the take. That finds the candidates; what is told about them is judged exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.chance import STEP_S, ChanceView, chance_view_of
from core.exposure import FloatArray
from core.exposures import Take
from core.judge import lamps_slack
from core.outlook import Outlook
from core.plan import Plan
from core.ranking import Gain
from core.tones import frame_ways, lit_share, mixed_light

#: Places along the way that the table holds.
PLACES = 20
#: The table is read between its lines: a take may turn out to hold that lacks this much.
DOUBT_STOPS = 0.1


def sights_of(
    plan: Plan, seen: Outlook, window_s: tuple[float, float], places: int = PLACES
) -> ChanceView:
    """The table: a row an instant of the window, a column a place along the way.

    It is what a take whose frames are all taken at once would see.
    """
    return chance_view_of(
        window_s,
        seen.light,
        seen.framesky,
        frame_ways(seen.path, places),
        0.0,
        plan.bands,
        lit_share(plan.ground),
    )


def view_along(sights: ChanceView, starts_s: FloatArray, shooting_s: float) -> ChanceView:
    """What a take of a length sees from each start, (starts, places).

    Parameters
    ----------
    starts_s
        UTC seconds within the table's window, so that the whole take is within it too.
    """
    places = np.arange(sights.land_log2.shape[1])
    after_s = shooting_s * places / max(len(places) - 1, 1)
    frame_s = starts_s[:, None] + after_s
    at = (frame_s - sights.time_s[0]) / STEP_S
    row = np.clip(at.astype(np.intp), 0, max(len(sights.time_s) - 2, 0))
    share = np.clip(at - row, 0.0, 1.0)
    after = np.minimum(row + 1, len(sights.time_s) - 1)

    def read(table: FloatArray) -> FloatArray:
        return np.asarray((1.0 - share) * table[row, places] + share * table[after, places])

    with np.errstate(invalid="ignore"):
        sky = read(sights.sky_log2)
    return replace(
        sights,
        time_s=starts_s,
        frame_s=frame_s,
        land_log2=read(sights.land_log2),
        lamp_cd_m2=np.full_like(starts_s, sights.lamp_cd_m2[0]),
        lamp_output=read(sights.lamp_output),
        ground_slope=read(sights.ground_slope),
        # Where a share of nought meets no sky at all.
        sky_log2=np.where(np.isnan(sky), -np.inf, sky),
        sky_slope=read(sights.sky_slope),
    )


def exposed(view: ChanceView, rows: NDArray[np.intp], mids: FloatArray) -> ChanceView:
    """Rows of a view, each at its own exposure: to be judged at a mid-grey of 0.

    All luminances count from mid-grey, so an exposure is the same as a darker evening.
    """
    by = mids[:, None]
    return replace(
        view,
        time_s=view.time_s[rows],
        frame_s=view.frame_s[rows],
        land_log2=view.land_log2[rows] - by,
        lamp_cd_m2=view.lamp_cd_m2[rows] * np.exp2(-mids),
        lamp_output=view.lamp_output[rows],
        ground_slope=view.ground_slope[rows],
        sky_log2=view.sky_log2[rows] - by,
        sky_slope=view.sky_slope[rows],
    )


def joined(views: list[ChanceView]) -> ChanceView:
    """Views of takes with the same places, one below the other."""

    def together(name: str) -> FloatArray:
        return np.concatenate([getattr(view, name) for view in views])

    return replace(
        views[0],
        time_s=together("time_s"),
        frame_s=together("frame_s"),
        land_log2=together("land_log2"),
        lamp_cd_m2=together("lamp_cd_m2"),
        lamp_output=together("lamp_output"),
        ground_slope=together("ground_slope"),
        sky_log2=together("sky_log2"),
        sky_slope=together("sky_slope"),
    )


@dataclass(frozen=True)
class Rooms:
    """What each frame leaves at a mid-grey of 0, in stops, (starts, places); infinite for all.

    `burns` is the slack to what burns, `darkens` to what goes dark, `unlit` to lamps that are
    wanted. A mid-grey of m stops adds m to the first and takes it from the second. `excused`
    of the frames may fail.
    """

    burns: FloatArray
    darkens: FloatArray
    unlit: FloatArray
    excused: int

    @property
    def brightest_stops(self) -> FloatArray:
        """The least slack to what burns, (starts,)."""
        return self._least(self.burns)

    @property
    def darkest_stops(self) -> FloatArray:
        """The least slack to what goes dark, (starts,)."""
        return self._least(self.darkens)

    def most_stops(self, mids: FloatArray) -> FloatArray:
        """The most slack that exposures can leave, whichever frames are let off: (starts, mids)."""
        bright, dark = self.brightest_stops[:, None] + mids, self.darkest_stops[:, None] - mids
        return np.minimum(np.minimum(bright, dark), self._least(self.unlit)[:, None])

    def slack_stops(self, rows: NDArray[np.intp], mids: FloatArray) -> FloatArray:
        """The slack of starts, each at its own exposure: (rows,)."""
        by = mids[:, None]
        frame = np.minimum(self.burns[rows] + by, self.darkens[rows] - by)
        return self._least(np.minimum(frame, self.unlit[rows]))

    def _least(self, slack: FloatArray) -> FloatArray:
        return np.asarray(np.partition(slack, self.excused, axis=-1)[..., self.excused])


def rooms_of(view: ChanceView, plan: Plan) -> Rooms:
    """How much room the frames of a view leave to a plan's limits."""
    bands = plan.bands
    street = street_log2(view)
    inf = np.inf
    burns = np.minimum(
        np.where(view.street, bands.street.high_stops - street, inf),
        np.where(view.land, bands.land.high_stops - view.land_log2, inf),
    )
    burns = np.minimum(burns, plan.camera.highlight_stops - view.sky_log2)
    darkens = np.minimum(
        np.where(view.street, street - bands.street.low_stops, inf),
        np.where(view.land & view.early, view.land_log2 - bands.land.low_stops, inf),
    )
    unlit = np.full_like(burns, inf)
    if bands.lamps_wanted:
        unlit = np.where(view.street, lamps_slack(view.lamp_output), inf)
    return Rooms(burns, darkens, unlit, view.excused)


def gain_of(
    view: ChanceView, rows: NDArray[np.intp], mids: ArrayLike, chance: FloatArray, take: Take
) -> Gain:
    """What the light gives a take at rows of a view, each at its own exposure."""
    return Gain(
        chance, mixed_light_shares(view)[rows], street_log2(view)[rows, 0] - mids,
        view.time_s[rows], take.clip_length_s, take.shooting_s,
    )  # fmt: skip


def street_log2(view: ChanceView) -> FloatArray:
    """Luminance of the lamplit street, in log2 cd/m²."""
    return np.asarray(np.log2(np.exp2(view.land_log2) + view.lamplight_cd_m2))


def mixed_light_shares(view: ChanceView) -> FloatArray:
    """Share of each take with daylight and lamplight within two stops, (starts,)."""
    mixed = view.street & mixed_light(view.land_log2, view.lamplight_cd_m2)
    return np.asarray(mixed.mean(axis=1))
