"""How the pilot has figures, clocks, dates and words written: one manner for the whole process.

The values themselves do not change with it: a plan, a table for other programs and every
calculation stay in metres, metres per second and degrees Celsius, on a clock of 24 hours.
It is kept for the process, as a locale is, and not handed through every function: nothing that
is computed depends on it but text.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

System = Literal["metric", "imperial"]
Hours = Literal["24", "12"]

#: The language that the texts of the program are written in.
OWN_LANGUAGE: Final = "en"


@dataclass(frozen=True)
class Manner:
    """A manner of writing.

    `units` are those that lengths, speeds and temperatures are written and typed in; `hours`
    those of a clock's round; `language` is that of the words, `dates` the region of the CLDR
    whose order and names dates have (as "de_AT"), empty for '10 October 2026' in English.
    """

    units: System = "metric"
    hours: Hours = "24"
    language: str = OWN_LANGUAGE
    dates: str = ""


_PLAIN: Final = Manner()
_of_process = _PLAIN


def manner() -> Manner:
    """The manner of this process."""
    return _of_process


def adopt(chosen: Manner) -> None:
    """Write in a manner from now on; texts that are written already stay as they are."""
    global _of_process  # noqa: PLW0603 - one a process, see above
    _of_process = chosen
