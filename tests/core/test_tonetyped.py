"""Tones as they are typed on site."""

from __future__ import annotations

import math

import pytest

from core.edit import PlanError
from core.exposure import mid_grey_cd_m2
from core.tonetyped import typed_tone_stops

MID = math.log2(mid_grey_cd_m2(1.8, 1.0, 100.0))


@pytest.mark.parametrize(
    ("text", "stops"),
    [("+0.7", 0.7), ("-1.5 stops", -1.5), ("\N{MINUS SIGN}0,5", -0.5), ("0", 0.0)],
)
def test_stops_from_mid_grey(text: str, stops: float) -> None:
    assert typed_tone_stops(text, MID) == pytest.approx(stops)


@pytest.mark.parametrize("text", ["EV 3.5", "ev3.5", "EV 3,5"])
def test_a_meter_set_to_the_same_exposure_reads_mid_grey(text: str) -> None:
    # ISO 2720:1974: settings of EV 3.5 at ISO 100 render what a meter shows as EV 3.5 as mid-grey.
    shutter_s = 1.8**2 / 2.0**3.5
    mid = math.log2(mid_grey_cd_m2(1.8, shutter_s, 100.0))
    assert typed_tone_stops(text, mid) == pytest.approx(0.0, abs=1e-9)
    assert typed_tone_stops(text, mid - 1.0) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("text", ["", "banana", "nan", "EV", "EV x", "3 lx", "--1", "1" * 500])
def test_what_is_no_tone_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(PlanError, match="was not understood") as caught:
        typed_tone_stops(text, MID)
    assert str(caught.value).count(". ") == 0
