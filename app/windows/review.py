"""A take reviewed: its stills beside what the plan expected, and what they teach it."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from threading import Event
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QScrollArea,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.background import Background, Progress
from app.reviewed.measuring import Asked, Measured, measured_of, still_holds
from app.reviewed.picture import severity_of
from app.reviewed.sheet import DriftTrack, ReviewSheet
from app.settings import settings
from app.store import Store
from app.theme import px, scale_changes, theme_of
from app.widgets.bar import Bar
from app.widgets.buttons import Button
from app.widgets.marks import Mark
from app.widgets.readout import Cell, Column, Readouts, Table
from app.widgets.rule import Gap, Rule
from app.widgets.text import Refusal, Text
from app.windows.panes import NO_ANSWER, emptied
from core.edit import PlanError
from core.memory import Memory
from core.plan import Plan
from core.review.draft import write_clip
from core.review.faults import Fault
from core.review.figures import Figure
from core.review.learn import taught_by
from core.review.report import table_name, write_table
from core.review.result import TakeReview
from core.review.words import clip_sentence, lead_sentence
from core.safewrite import file_name
from core.words import number_text

_FOLDER_KEY = "stills_folder"
_COLUMN_PX = 340
_MOST_FAULTS, _TWO_LINES_PX = 6, 34
_DRAFT: Final = "Draft clip, levelled and steadied…"
_QUESTION: Final = "Which folder holds the stills of the take?"
_HINT: Final = (
    "Their times say which frames are missing, their pixels what burnt, how far the light was"
    " from what was expected, and how the craft drifted. The stills stay as they are."
)
_NAMES: Final[dict[str, str]] = {
    "level_stops": "ambient light",
    "weather_stops": "that night's light",
    "haze_sigmas": "that night's haze",
    "lamps_stops": "lamp level",
    "sky_stops": "that night's sky",
    "highlight_stops": "burns above",
    "write_time_s": "write time",
    "lamps_on_lx": "lamps on below",
    "lamps_on_after_event_min": "lamps on after",
}
_CHANGED = "The plan has changed since: measure the stills again."


class ReviewWindow(QWidget):
    """Measures a folder of stills behind the window, shows the take, and learns from it.

    Parameters
    ----------
    plan_file
        The file of the plan, beside which the table of the frames is kept; None without one.
    """

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowFlag(self.windowType().Window, on=True)
        self.setWindowTitle("Review of a take \N{EN DASH} Duskwright")
        self.setAcceptDrops(True)
        self.plan_file: Callable[[], Path | None] = lambda: None
        self._store = store
        self._behind, self._progress = Background(self), Progress(self)
        self._drafting = Background(self)
        self._stop, self._draft_stop = Event(), Event()
        self._measured: Measured | None = None
        self._behind.answered.connect(self._take_answer)
        self._behind.failed.connect(lambda: self._ask_anew(NO_ANSWER))
        self._drafting.answered.connect(self._tell_draft)
        self._drafting.failed.connect(lambda: self._tell_draft(None, NO_ANSWER))
        self._progress.told.connect(self._tell_progress, Qt.ConnectionType.QueuedConnection)
        self._compose()
        store.changed.connect(self._follow)
        scale_changes().changed.connect(self._rescale)
        self.resize(px(1280), px(800))
        self._ask_anew("")

    # ---- what it is made of ----

    def _compose(self) -> None:
        self.told = Text(_QUESTION, size_px=20, weight=700, wraps=True)
        self.about = Text(_HINT, size_px=13, ink="ink2", wraps=True)
        self.bar, self.stop_button = Bar("Stills measured"), Button("Stop", height_px=26)
        self.choose_button = Button("Choose a folder…", strong=True)
        self.again_button = Button("Other stills…", height_px=26)
        self.stop_button.clicked.connect(self.stop)
        for button in (self.choose_button, self.again_button):
            button.clicked.connect(self.choose)
        self._refusal = Refusal()
        self.sheet, self.column = ReviewSheet(), _Column()
        self.column.learn.clicked.connect(self.learn)
        self.column.leave.clicked.connect(self.leave)
        self.column.draft.clicked.connect(self.draft)
        self.sheet.pointed.connect(self._point)
        self._head = QVBoxLayout()
        self._line = QHBoxLayout()
        for widget, stretch in (
            (self.about, 1), (self.bar, 1), (self.stop_button, 0), (self.again_button, 0),
        ):  # fmt: skip
            self._line.addWidget(widget, stretch)
        self._head.addWidget(self.told)
        self._head.addLayout(self._line)
        self._head.addWidget(self._refusal)
        body = QWidget()
        across = QHBoxLayout(body)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(0)
        across.addWidget(self.sheet, 1)
        across.addWidget(self.column)
        self._pages = QStackedLayout()
        self._pages.addWidget(self._empty_page())
        self._pages.addWidget(body)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addLayout(self._head)
        whole.addWidget(Rule())
        whole.addLayout(self._pages, 1)
        self._rescale()

    def _empty_page(self) -> QWidget:
        page = QWidget()
        rows = QVBoxLayout(page)
        rows.addStretch(2)
        rows.addWidget(self.choose_button, 0, Qt.AlignmentFlag.AlignHCenter)
        hint = Text("or drop it here", size_px=12, ink="ink3", align=Qt.AlignmentFlag.AlignCenter)
        rows.addWidget(hint)
        rows.addStretch(3)
        return page

    def _rescale(self) -> None:
        self._head.setContentsMargins(px(16), px(10), px(16), px(10))
        self._head.setSpacing(px(3))
        self._line.setSpacing(px(10))
        self.column.setFixedWidth(px(_COLUMN_PX))
        # The sheet stays where it is while frames are told in its place.
        self.about.setFixedHeight(px(_TWO_LINES_PX))

    # ---- what the pilot does ----

    def choose(self) -> None:
        """Ask for a folder and measure the stills in it."""
        before = str(settings().value(_FOLDER_KEY, "") or Path.home())
        name = QFileDialog.getExistingDirectory(self, _QUESTION, before)
        if name:
            settings().setValue(_FOLDER_KEY, name)
            self.measure(Path(name))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take a folder."""
        if _dropped(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Measure the stills in a folder that was dropped."""
        folder = _dropped(event)
        if folder is not None:
            event.acceptProposedAction()
            self.measure(folder)

    def measure(self, folder: Path) -> None:
        """Measure the stills of a folder as a take of the active shoot."""
        plan = self._store.plan
        if plan is None:
            self._ask_anew("There is no plan: open the plan of the place first.")
            return
        self._stop.set()
        self._stop = stop = Event()
        asked = Asked(plan, self._store.active, folder)
        self._measured = None
        self._refusal.say("")
        self.told.show_text(f"Measuring the stills in {folder.name} …")
        self._show_busy(busy=True)
        told = partial(self._progress.told.emit, asked)
        self._behind.ask(asked, partial(_answer, asked, told, stop.is_set))

    def stop(self) -> None:
        """Go no further; what was measured by now is shown."""
        self._stop.set()
        self.told.show_text("Stopping …")

    def learn(self) -> None:
        """Learn from the take: one step of undo, and the table of its frames beside the plan."""
        plan, measured = self._store.plan, self._measured
        if plan is None or measured is None or not still_holds(plan, measured):
            return
        path, seen = self.plan_file(), measured.seen
        table = path.with_name(table_name(path.stem, seen)) if path is not None else None
        words, name = " ".join(seen.verdict), table.name if table else None
        try:
            taught = taught_by(seen.shown, plan, Memory(), words, name)
            if table is not None:
                write_table(seen, table)
        except PlanError as refusal:
            self._refusal.say(str(refusal))
            return
        self._refusal.say("")
        self._store.begin_gesture()
        self._store.replace("learn from a take", taught.lesson.plan)

    def leave(self) -> None:
        """Leave the take out: the plan stays as it is."""
        self._stop.set()
        self._ask_anew("")

    def draft(self) -> None:
        """Write a draft of the clip to a file of the pilot's choice; pressed again it stops."""
        if self._drafting.asked is not None:
            self._draft_stop.set()
            return
        measured = self._measured
        if measured is None:
            return
        folder = measured.asked.folder
        suggested = str(folder.parent / f"{folder.name}.mp4")
        name, _ = QFileDialog.getSaveFileName(self, "Draft clip", suggested, "MP4 (*.mp4)")
        if not name:
            return
        target = Path(name) if Path(name).suffix else Path(f"{name}.mp4")
        self._draft_stop = stop = Event()
        asked = (measured.asked, target)
        told = partial(self._progress.told.emit, asked)
        work = partial(_drafted, measured.seen, target, told, stop.is_set)
        self.column.draft.show_text("Stop the draft")
        self._refusal.say("")
        self._drafting.ask(asked, work)

    def _tell_draft(self, _asked: object, told: str) -> None:
        self.column.draft.show_text(_DRAFT)
        self.column.drafted.show_text(told)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Leave what is under way."""
        self._draft_stop.set()
        if self._behind.asked is not None:
            self._stop.set()
            self._behind.forget()
            self._ask_anew("")
        super().closeEvent(event)

    # ---- what it shows ----

    @property
    def measured(self) -> Measured | None:
        """The take that is shown."""
        return self._measured

    @property
    def refusal(self) -> str:
        """What could not be done last; empty while nothing is wrong."""
        return self._refusal.sentence

    def _ask_anew(self, refusal: str) -> None:
        self._measured = None
        self._show_busy(busy=False)
        self.told.show_text(_QUESTION)
        self.about.show_text(_HINT)
        self._refusal.say(refusal)
        self.again_button.hide()
        self._pages.setCurrentIndex(0)

    def _show_busy(self, *, busy: bool) -> None:
        self.bar.show_share(0.0)
        for widget in (self.bar, self.stop_button):
            widget.setVisible(busy)
        self.about.setVisible(not busy)
        self.choose_button.setEnabled(not busy)
        self.again_button.setVisible(not busy)
        if busy:
            self._pages.setCurrentIndex(0)

    def _tell_progress(self, asked: object, done: int, of: int) -> None:
        if asked == self._drafting.asked:
            self.column.drafted.show_text(f"{done} of {of} frames")
            return
        if not isinstance(asked, Asked):
            return
        if asked == self._behind.asked and not self._stop.is_set():
            self.bar.show_share(done / max(of, 1))
            self.told.show_text(f"Measuring the stills in {asked.folder.name}: {done} of {of}")

    def _take_answer(self, _asked: Asked, answer: Measured | str) -> None:
        if isinstance(answer, str):
            self._ask_anew(answer)
            return
        self._measured = answer
        self._show_busy(busy=False)
        self.sheet.show_take(answer)
        self.column.show_take(answer)
        self._pages.setCurrentIndex(1)
        self._follow()
        self._show_head()

    def _show_head(self) -> None:
        measured = self._measured
        if measured is None:
            return
        stopped = "" if measured.seen.complete else "Stopped early. "
        seen = measured.seen
        self.told.show_text(f"{stopped}{lead_sentence(seen.shown)} {seen.advice}")
        self._point("")

    def _point(self, words: str) -> None:
        """Tell the frame under the pointer, or the take where there is none."""
        if self._measured is not None:
            self.about.show_text(words or _told_once(self._measured.seen))

    def _follow(self) -> None:
        """Offer to learn only what still belongs to the plan as it stands."""
        plan, measured = self._store.plan, self._measured
        if measured is None:
            return
        if plan is None:
            self._ask_anew("")
            return
        learned = _holds_take(plan, measured)
        holds = still_holds(plan, measured) and not learned
        self.column.learn.setEnabled(holds and measured.seen.taught is not None)
        self.column.learn.show_text("Learned" if learned else "Learn from this take")
        why = "" if holds or learned else _CHANGED
        self.column.learn.setToolTip(why or measured.seen.advice)
        self._refusal.say(why)


class _Column(QScrollArea):
    """The right column: faults, what the take teaches, drift, figures."""

    def __init__(self) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.faults = QVBoxLayout()
        self.teaches = Table(
            "What this take teaches",
            (Column(1, "left"), Column(), Column(), Column(0, "left")),
            row_px=23,
            ruled=True,
        )
        self.learn = Button("Learn from this take", strong=True)
        self.leave = Button("Leave it out")
        self.drift = DriftTrack()
        self.readouts = Readouts("Figures of the take", 3)
        self.draft = Button(_DRAFT, wide=True)
        self.drafted = Text("", size_px=12, ink="ink2", wraps=True)
        body = _Ruled()
        column = QVBoxLayout(body)
        column.setContentsMargins(px(16), px(10), px(20), px(12))
        column.setSpacing(px(4))
        buttons = QHBoxLayout()
        buttons.setSpacing(px(8))
        buttons.addWidget(self.learn, 1)
        buttons.addWidget(self.leave)
        column.addWidget(Text("Faults", weight=600))
        column.addLayout(self.faults)
        for part in (Gap(4), Rule(), Gap(4), Text("What this take teaches", weight=600)):
            column.addWidget(part)
        column.addWidget(self.teaches)
        column.addSpacing(px(6))
        column.addLayout(buttons)
        for part in (Gap(4), Rule(), Gap(4), Text("Drift from the planned path", weight=600)):
            column.addWidget(part)
        column.addWidget(self.drift)
        column.addWidget(Gap(4))
        column.addWidget(self.readouts)
        column.addSpacing(px(6))
        column.addWidget(self.draft)
        column.addWidget(self.drafted)
        column.addStretch(1)
        self.setWidget(body)

    def show_take(self, measured: Measured) -> None:
        """Show a take."""
        emptied(self.faults)
        faults = [fault for frame in measured.seen.frames for fault in frame.faults]
        for fault in sorted(faults, key=lambda one: severity_of(one) != "stop")[:_MOST_FAULTS]:
            self.faults.addWidget(_FaultRow(fault))
        if len(faults) > _MOST_FAULTS:
            more = f"and {len(faults) - _MOST_FAULTS} more, on the frames where they begin"
            self.faults.addWidget(Text(more, size_px=12, ink="ink2"))
        if not faults:
            self.faults.addWidget(Text("None was found.", ink="ink2"))
        self.teaches.show_rows(_teaches(measured.seen))
        self.drift.show_take(measured)
        self.drafted.show_text("")
        self.readouts.show_entries(_figures(measured.seen))


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


def _teaches(seen: TakeReview) -> list[tuple[Cell, ...]]:
    heads = ("what", "before", "after", "unit")
    head = tuple(Cell(text, ink="ink2", size_px=11) for text in heads)
    return [head, *(_figure_row(figure) for figure in seen.learned)]


def _figure_row(figure: Figure) -> tuple[Cell, ...]:
    digits = 2 if figure.unit == "s" else 1
    return (
        Cell(_NAMES.get(figure.name, figure.name)),
        Cell(_with_doubt(figure.before, figure.before_sigma, digits), ink="ink2"),
        Cell(_with_doubt(figure.after, figure.after_sigma, digits), weight=700),
        Cell(figure.unit, ink="ink3", size_px=11),
    )


def _with_doubt(value: float, sigma: float | None, digits: int) -> str:
    told = number_text(value, digits)
    return told if sigma is None else f"{told} ± {number_text(sigma, digits)}"


def _figures(seen: TakeReview) -> list[tuple[str, str]]:
    after = f" to {number_text(seen.flicker_after_stops, 2)}" if seen.flicker_after_stops else ""
    return [
        ("flicker, stop", _told(seen.flicker_stops, 2) + after),
        ("interval", f"{number_text(seen.interval_s, 2)} s"),
        ("crop", f"{_told(seen.crop_percent, 1)} %"),
    ]


def _told_once(seen: TakeReview) -> str:
    """The verdict without what stands above it or among the faults."""
    said = {fault.sentence for frame in seen.frames for fault in frame.faults}
    said.add(lead_sentence(seen.shown))
    return " ".join(sentence for sentence in seen.verdict if sentence not in said)


def _told(value: float | None, digits: int) -> str:
    return "\N{EN DASH}" if value is None else number_text(value, digits)


def _holds_take(plan: Plan, measured: Measured) -> bool:
    """Whether a plan has learned from this take."""
    wanted = measured.seen.shown.reviewed.take.id
    return any(take.id == wanted and take.summary is not None for take in plan.takes)


def _answer(
    asked: Asked, told: Callable[[int, int], None], cancelled: Callable[[], bool]
) -> Measured | str:
    """The measured take, or one sentence about why there is none."""
    try:
        return measured_of(asked, told, cancelled)
    except PlanError as refusal:
        return str(refusal)


def _drafted(
    seen: TakeReview,
    target: Path,
    told: Callable[[int, int], None],
    cancelled: Callable[[], bool],
) -> str:
    """Write the draft clip; what became of it, in a sentence."""
    try:
        place = write_clip(seen.shown, target, progress=told, cancelled=cancelled)
    except PlanError as refusal:
        return str(refusal)
    if place is None:
        return "Stopped; no clip was written."
    return f"{file_name(place)} is written: {clip_sentence(seen.shown)}"


def _dropped(event: QDragEnterEvent | QDropEvent) -> Path | None:
    """The folder that is dropped."""
    with contextlib.suppress(OSError):
        for url in event.mimeData().urls():
            path = Path(url.toLocalFile())
            if url.isLocalFile() and path.is_dir():
                return path
    return None
