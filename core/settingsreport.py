"""The short list of settings for other programs: plain values for JSON, rows for a table.

Written as `core.report` writes a forecast: times with the offset of the place to the
millisecond, nine significant digits, None for what does not exist.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.choice import Choice, Settings
from core.night import Night
from core.packing import Packed
from core.plainvalues import Values, figure, iso_time
from core.report import Row
from core.tradeoff import IntervalTrade

SETTING_COLUMNS = (
    "interval_s", "shutter_s", "iso", "f_number", "nd_stops", "start", "slack_stops", "p_hold",
    "mixed_light_share", "clip_length_s", "shutter_angle_deg", "margin_min", "costs",
)  # fmt: skip
_TRADE_KEYS = ("interval_s", "frames", "clip_length_s", "shooting_min", "margin_min",
               "longest_shutter_s")  # fmt: skip


def settings_report(
    night: Night, found: Settings, pack: Sequence[Packed], curve: Sequence[IntervalTrade]
) -> Values:
    """Return the short list, why it is empty, what to pack and the trade-off as plain values."""
    return {
        "settings": [_choice(night, choice) for choice in found.choices],
        "reason": found.reason,
        "pack": [
            {
                "nd_stops": packed.nd_stops,
                "earliest": iso_time(night, packed.first_s),
                "latest": iso_time(night, packed.last_s),
                "why": packed.why,
            }
            for packed in pack
        ],
        "trade_off": [
            {key: figure(getattr(trade, key)) for key in _TRADE_KEYS} | {"frames": trade.frames}
            for trade in curve
        ],
    }


def setting_rows(night: Night, found: Settings) -> list[Row]:
    """Return the short list, one row a choice, in the order of `SETTING_COLUMNS`."""
    rows = (_choice(night, choice) | {"costs": "; ".join(choice.costs)} for choice in found.choices)
    return [tuple(row[name] for name in SETTING_COLUMNS) for row in rows]


def _choice(night: Night, choice: Choice) -> Values:
    said: Values = {"start": iso_time(night, choice.start_s), "costs": list(choice.costs)}
    return {
        name: said[name] if name in said else figure(getattr(choice, name))
        for name in SETTING_COLUMNS
    }
