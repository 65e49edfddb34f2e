"""The right column of a review: faults, what the take teaches, drift, figures, the draft."""

from __future__ import annotations

from itertools import chain
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.reviewed.horizon import HorizonBox
from app.reviewed.measuring import Measured
from app.reviewed.picture import severity_of
from app.reviewed.sheet import DriftTrack
from app.theme import px, theme_of
from app.widgets.buttons import Button
from app.widgets.marks import Mark
from app.widgets.readout import Cell, Column, Readouts, Table
from app.widgets.rule import Gap, Rule
from app.widgets.text import Text
from app.widgets.typed_row import TypedRow
from app.windows.panes import emptied
from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.language import say, say_as, say_count
from core.review.faults import Fault
from core.review.figures import Figure
from core.review.powerused import Charges
from core.review.report import files_aside
from core.review.result import TakeReview
from core.sentences import shown
from core.words import number_text, percent_text

DRAFT: Final = say("Draft clip, levelled and steadied…")
_MOST_FAULTS: Final = 6
_MOST_FILES: Final = 12
_CHARGE_ANEW: Final = say("A charge was not understood: type 0 to 100 %, or none.")
_ONE_CHARGE: Final = say(
    "The charge was noted at one end of the take only: type the other one too, or none."
)
_NAMES: Final[dict[str, str]] = {
    "level_stops": say("ambient light"),
    "weather_stops": say("that night's light"),
    "haze_sigmas": say("that night's haze"),
    "lamps_stops": say("lamp level"),
    "sky_stops": say("that night's sky"),
    "highlight_stops": say("burns above"),
    "write_time_s": say("write time"),
    "lamps_on_lx": say("lamps on below"),
    "practice_factor": say("power"),
    "lamps_on_after_event_min": say("lamps on after"),
}
_UNITS: Final[dict[str, str]] = {
    "stops": say_as("unit", "stops"),
    "sigmas": say_as("unit", "sigmas"),
    "times": say_as("unit", "times"),
}


class ReviewColumn(QScrollArea):
    """What a take showed and teaches, in words and figures.

    Signals
    -------
    charged
        Another charge was typed: what the take teaches is to be worked out anew.
    """

    charged = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.faults, self.aside = QVBoxLayout(), QVBoxLayout()
        self._take_id = ""
        self.teaches = Table(
            say("What this take teaches"),
            (Column(1, "left"), Column(), Column(), Column(0, "left")),
            row_px=23,
            ruled=True,
        )
        self.charges = tuple(
            TypedRow(label, None, _typed_charge, _charge_text, label_px=196, field_px=70)
            for label in (
                say("Charge shown at the first frame"),
                say("Charge shown at the last one"),
            )
        )
        for row in self.charges:
            row.taken.connect(self.charged)
        self.learn = Button(say("Learn from this take"), strong=True, wide=True)
        self.leave = Button(say("Leave it out"))
        self.horizon = HorizonBox()
        self.drift = DriftTrack()
        self.readouts = Readouts(say("Figures of the take"), 2)
        self.draft = Button(DRAFT, wide=True)
        self.drafted = Text("", size_px=12, ink="ink2", wraps=True)
        self.setWidget(self._composed())

    def _composed(self) -> QWidget:
        body = _Ruled()
        column = QVBoxLayout(body)
        column.setContentsMargins(px(16), px(10), px(20), px(12))
        column.setSpacing(px(4))
        buttons = QHBoxLayout()
        buttons.setSpacing(px(8))
        buttons.addWidget(self.learn, 1)
        buttons.addWidget(self.leave)
        column.addWidget(Text(say("Faults"), weight=600))
        column.addLayout(self.faults)
        _begin_section(column, say("What this take teaches"))
        column.addWidget(self.teaches)
        for row in self.charges:
            column.addWidget(row)
        column.addSpacing(px(6))
        column.addLayout(buttons)
        _begin_section(column, say("Horizon"))
        column.addWidget(self.horizon)
        _begin_section(column, say("Drift from the planned path"))
        column.addWidget(self.drift)
        column.addWidget(Gap(4))
        column.addWidget(self.readouts)
        column.addSpacing(px(6))
        column.addWidget(self.draft)
        column.addWidget(self.drafted)
        column.addLayout(self.aside)
        column.addStretch(1)
        return body

    @property
    def typed_charges(self) -> Charges | None:
        """What the craft showed at the first and the last frame, where both were typed."""
        first, last = (row.value for row in self.charges)
        return None if first is None or last is None else (first, last)

    def settle_charges(self) -> str:
        """Take what is still being typed, and say why charges cannot be learned from, if so."""
        understood = [row.settle() for row in self.charges]
        if not all(understood):
            return _CHARGE_ANEW
        first, last = (row.value for row in self.charges)
        return _ONE_CHARGE if (first is None) != (last is None) else ""

    def show_figures(self, figures: tuple[Figure, ...]) -> None:
        """Show what the take teaches."""
        self.teaches.show_rows(_teaches(figures))

    def show_take(self, measured: Measured) -> None:
        """Show a take; charges that were noted go with another one."""
        take_id = measured.seen.shown.reviewed.take.id
        if take_id != self._take_id:
            self._take_id = take_id
            for row in self.charges:
                row.clear()
        emptied(self.faults)
        faults = [fault for frame in measured.seen.frames for fault in frame.faults]
        for fault in sorted(faults, key=lambda one: severity_of(one) != "stop")[:_MOST_FAULTS]:
            self.faults.addWidget(_FaultRow(fault))
        if len(faults) > _MOST_FAULTS:
            more = say(
                "and {count} more, on the frames where they begin",
                count=len(faults) - _MOST_FAULTS,
            )
            self.faults.addWidget(Text(more, size_px=12, ink="ink2"))
        if not faults:
            self.faults.addWidget(Text(say("None was found."), ink="ink2"))
        self._show_aside(measured.seen)
        self.show_figures(measured.seen.learned)
        self.horizon.show_take(measured)
        self.drift.show_take(measured)
        self.drafted.show_text("")
        self.readouts.show_entries(_figures(measured.seen))

    def _show_aside(self, seen: TakeReview) -> None:
        """The files that are no frames: counted among the faults, named at the end."""
        emptied(self.aside)
        count = len(seen.unreadable) + len(seen.strangers)
        if not count:
            return
        left_out = say_count(
            "1 file of the folder was left out; see below.",
            "{count} files of the folder were left out; see below.",
            count,
        )
        self.faults.addWidget(Text(left_out, size_px=12, ink="ink2"))
        _begin_section(self.aside, say("Files left out"))
        for line in chain.from_iterable(files_aside(seen, _MOST_FILES)):
            self.aside.addWidget(Text(line.strip(), size_px=12, ink="ink2", wraps=True))


def _begin_section(column: QVBoxLayout, title: str) -> None:
    """Part what follows from what stands above, and name it."""
    for part in (Gap(4), Rule(), Gap(4), Text(title, weight=600)):
        column.addWidget(part)


class _Ruled(QWidget):
    """A column with the line that parts it from the sheet."""

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the line."""
        QPainter(self).fillRect(0, 0, max(1, px(1)), self.height(), theme_of(self).rule)


class _FaultRow(QWidget):
    """Mark and sentence."""

    def __init__(self, fault: Fault) -> None:
        super().__init__()
        line = QHBoxLayout(self)
        line.setContentsMargins(0, px(3), 0, px(3))
        line.setSpacing(px(10))
        line.addWidget(Mark(severity_of(fault)), 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(Text(fault.sentence, wraps=True), 1)
        self.setAccessibleName(fault.sentence)


def _teaches(figures: tuple[Figure, ...]) -> list[tuple[Cell, ...]]:
    heads = (say("what"), say_as("column", "before"), say_as("column", "after"), say("unit"))
    head = tuple(Cell(text, ink="ink2", size_px=11) for text in heads)
    return [head, *(_figure_row(figure) for figure in figures)]


def _figure_row(figure: Figure) -> tuple[Cell, ...]:
    digits = figure.digits
    return (
        Cell(_NAMES.get(figure.name, figure.name)),
        Cell(_with_doubt(figure.before, figure.before_sigma, digits), ink="ink2"),
        Cell(_with_doubt(figure.after, figure.after_sigma, digits), weight=700),
        Cell(_UNITS.get(figure.unit, figure.unit), ink="ink3", size_px=11),
    )


def _with_doubt(value: float, sigma: float | None, digits: int) -> str:
    told = number_text(value, digits)
    return told if sigma is None else f"{told} ± {number_text(sigma, digits)}"


def _figures(seen: TakeReview) -> list[tuple[str, str]]:
    flicker, left = seen.flicker_stops, seen.flicker_after_stops
    # Where it is no more than can be measured, levelling takes nothing away.
    levelled = left if flicker is None or left is None else min(flicker, left)
    stop = say_as("unit", "stop")
    return [
        (say("interval"), _told(seen.interval_s, 2, "s")),
        (say("flicker"), _told(flicker, 3, stop, seen.flicker_sigma_stops)),
        (say("crop"), _told(seen.crop_percent, 1, "%")),
        (say("levelled to"), _told(levelled, 3, stop)),
    ]


def _told(value: float | None, digits: int, unit: str, sigma: float | None = None) -> str:
    return "\N{EN DASH}" if value is None else f"{_with_doubt(value, sigma, digits)} {unit}"


def _typed_charge(text: str) -> float | None:
    plain = plain_text(text)
    if plain in ("", "none", say_as("charge", "none").casefold(), "\N{EN DASH}"):
        return None
    value = amount_of("charge_percent", plain)
    if value is None or not 0.0 <= value <= 100.0:
        raise PlanError(say("{typed} is no charge; 0 to 100 % was expected.", typed=shown(text)))
    return value


def _charge_text(value: float | None) -> str:
    return say_as("charge", "none") if value is None else percent_text(value)
