"""The sky of a night and its haze one sigma away, from the shipped table."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from core.memory import Memory
from core.plan import Conditions
from core.readonly import read_only
from core.sky.actual import ActualSky
from core.sky.sky import Sky
from core.sky.table import SkyTable, load_sky_table

#: 1-sigma of the typed haze, in doublings of the optical depth: a pilot tells clear from
#: hazy by eye, no better (our judgement).
HAZE_SIGMA_DOUBLINGS = 0.6
#: Optical depths at 550 nm behind the words for clear air, and what most nights have.
HAZE_WORDS = {"clear": 0.05, "normal": 0.12, "hazy": 0.30}

_HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Skies:
    """A night's sky as typed, and with its haze one sigma thinner and thicker.

    `sigmas_apart` is how far the last two really are apart: less than two where the table
    of skies ends.
    """

    typed: Sky
    thinner: Sky
    thicker: Sky
    sigmas_apart: float = 2.0


def skies_of(conditions: Conditions, height_m: float, memory: Memory) -> Skies:
    """The skies of a night for a camera so high above the ground, in metres."""
    table = sky_table(memory)
    first, last = float(table.haze_aod[0]), float(table.haze_aod[-1])
    # Thinner or thicker than any sky of the table is taken as the last one.
    haze = min(max(conditions.haze_aod, first), last)
    spread = 2.0**HAZE_SIGMA_DOUBLINGS
    hazes = (haze, max(haze / spread, first), min(haze * spread, last))
    typed, thinner, thicker = (_sky(table, conditions, haze, height_m) for haze in hazes)
    apart = math.log2(hazes[2] / hazes[1]) / HAZE_SIGMA_DOUBLINGS
    return read_only(Skies(typed, thinner, thicker, apart))


def sky_table(memory: Memory) -> SkyTable:
    """The shipped table, read once."""
    return memory.recall("sky table", None, lambda: load_sky_table(sky_table_path()))


def sky_table_path() -> Path:
    """Where the shipped table lies: inside the package when installed, else in the checkout."""
    packed = _HERE / "_assets" / "sky_table.npz"
    return packed if packed.exists() else _HERE.parent / "assets" / "sky_table.npz"


def _sky(table: SkyTable, conditions: Conditions, haze_aod: float, height_m: float) -> ActualSky:
    clear = table.at(haze_aod, height_m)
    return ActualSky(clear, conditions.cloud_okta, conditions.skyglow_cd_m2)
