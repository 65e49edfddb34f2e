"""Instants and figures as plain values for other programs, written as `core.report` does."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Mapping, Sequence

import msgspec

from core.night import Night

Values = dict[str, object]


def iso_time(night: Night, time_s: float | None) -> str | None:
    """Write an instant in UTC seconds as ISO 8601 with the offset of the place, to the ms."""
    if time_s is None:
        return None
    return night.clock(round(time_s, 3)).isoformat(timespec="milliseconds")


def figure(value: float | None) -> float | None:
    """Round to nine significant digits; None for what does not exist or has no end."""
    if value is None or not math.isfinite(value):
        return None
    # Adding nought leaves no negative one.
    return float(f"{value:.9g}") + 0.0


def changes_values(changes: Iterable[tuple[str, object]]) -> Values:
    """New values by their dotted keys, ready for JSON."""
    values: Values = msgspec.to_builtins(dict(changes))
    return values


def as_json(values: Mapping[str, object] | Sequence[Mapping[str, object]]) -> str:
    """Values as JSON, to be read by eye too."""
    return json.dumps(values, indent=2, allow_nan=False) + "\n"


def as_csv(columns: Sequence[str], rows: Sequence[tuple[object, ...]]) -> str:
    """A table with its head; a missing value is an empty cell."""
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return table.getvalue()
