"""A take reviewed: its stills beside what the plan expected, and what they teach it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from threading import Event
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QSpacerItem,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.background import Background, Progress
from app.reviewed.lesson import LessonAsked, drafted, holds_take, taught_of
from app.reviewed.measuring import Asked, Measured, answer_of, still_holds
from app.reviewed.sheet import ReviewSheet
from app.settings import settings
from app.store import Store
from app.theme import px, scale_changes, text_scale
from app.widgets.bar import Bar
from app.widgets.buttons import Button
from app.widgets.roomy import open_at
from app.widgets.rule import Rule
from app.widgets.text import Refusal, Text
from app.windows.panes import NO_ANSWER, dropped_folder
from app.windows.reviewcolumn import DRAFT, ReviewColumn
from core.edit import PlanError
from core.language import say
from core.manner import manner
from core.path import Tilt
from core.review.learn import Taught
from core.review.report import table_name, write_table
from core.review.result import TakeReview
from core.review.words import lead_sentence

_FOLDER_KEY = "stills_folder"
_COLUMN_PX = 340
_TWO_LINES_PX = 34
#: From this text scale on the head is set smaller.
_LARGE_TEXT = 1.5
_QUESTION: Final = say("Which folder holds the stills of the take?")
_HINT: Final = say(
    "Their times say which frames are missing, their pixels what burnt, how far the "
    "light was from what was expected, and how the craft drifted. The stills stay as "
    "they are."
)
_LEARNED = say("The take is learned as it was: undo that, then learn from it with its charges.")
_CHANGED = say("The plan has changed since: measure the stills again.")


class ReviewWindow(QWidget):
    """Measures a folder of stills behind the window, shows the take, and learns from it.

    Attributes
    ----------
    plan_file
        Gives the file of the plan, beside which the table of the frames is kept; None without one.
    """

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowFlag(self.windowType().Window, on=True)
        self.setWindowTitle(say("Review of a take \N{EN DASH} Duskwright"))
        self.setAcceptDrops(True)
        self.plan_file: Callable[[], Path | None] = lambda: None
        self._store = store
        self._behind, self._progress = Background(self), Progress(self)
        self._drafting, self._teaching = Background(self), Background(self)
        self._teaching.answered.connect(self._take_lesson)
        self._teaching.failed.connect(self._follow)
        self._stop, self._draft_stop = Event(), Event()
        self._measured: Measured | None = None
        self._written_in = manner()
        self._behind.answered.connect(self._take_answer)
        self._behind.failed.connect(lambda: self._take_answer(None, NO_ANSWER))
        self._drafting.answered.connect(self._tell_draft)
        self._drafting.failed.connect(lambda: self._tell_draft(None, NO_ANSWER))
        self._progress.told.connect(self._tell_progress, Qt.ConnectionType.QueuedConnection)
        self._compose()
        store.changed.connect(self._follow)
        scale_changes().changed.connect(self._rescale)
        open_at(self, 1280, 800)
        self._ask_anew("")

    # ---- what it is made of ----

    def _compose(self) -> None:
        self.told = Text(_QUESTION, size_px=20, weight=700, wraps=True)
        self.about = Text(_HINT, size_px=13, ink="ink2", wraps=True)
        self.bar, self.stop_button = Bar(say("Stills measured")), Button(say("Stop"), height_px=26)
        self.choose_button = Button(say("Choose a folder…"), strong=True)
        self.again_button = Button(say("Other stills…"), height_px=26)
        self.stop_button.clicked.connect(self.stop)
        for button in (self.choose_button, self.again_button):
            button.clicked.connect(self.choose)
        self._refusal = Refusal()
        self.sheet, self.column = ReviewSheet(), ReviewColumn()
        self.column.learn.clicked.connect(self.learn)
        self.column.leave.clicked.connect(self.leave)
        self.column.draft.clicked.connect(self.draft)
        self.column.charged.connect(partial(self._teach, keep=False))
        self.column.horizon.settled.connect(self._tilt)
        self.sheet.pointed.connect(self._point)
        self.sheet.picked.connect(self.column.horizon.picture.show_frame)
        self._head = QVBoxLayout()
        self._line = QHBoxLayout()
        for widget, stretch in (
            (self.about, 1), (self.bar, 1), (self.stop_button, 0), (self.again_button, 0),
        ):  # fmt: skip
            self._line.addWidget(widget, stretch)
        self._two_lines = QSpacerItem(0, 0)
        self._line.addSpacerItem(self._two_lines)
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
        hint = Text(
            say("or drop it here"), size_px=12, ink="ink3", align=Qt.AlignmentFlag.AlignCenter
        )
        rows.addWidget(hint)
        rows.addStretch(3)
        return page

    def _rescale(self) -> None:
        self._head.setContentsMargins(px(16), px(10), px(16), px(10))
        self._head.setSpacing(px(3))
        self._line.setSpacing(px(10))
        self.column.setFixedWidth(px(_COLUMN_PX))
        # Large text leaves little room for the sheet.
        self.told.show_text(self.told.text(), size_px=15 if text_scale() >= _LARGE_TEXT else 20)
        # The sheet stays where it is while frames are told in its place.
        self._two_lines.changeSize(0, px(_TWO_LINES_PX))
        self._line.invalidate()

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
        if dropped_folder(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Measure the stills in a folder that was dropped."""
        folder = dropped_folder(event)
        if folder is not None:
            event.acceptProposedAction()
            self.measure(folder)

    def measure(self, folder: Path) -> None:
        """Measure the stills of a folder as a take of the active shoot."""
        plan = self._store.plan
        if plan is None:
            self._ask_anew(say("There is no plan: open the plan of the place first."))
            return
        shown, self._measured = self._measured, None
        # Measured again, as where the plan has changed, a take keeps its horizon.
        tilt = shown.asked.tilt if shown is not None and shown.asked.folder == folder else None
        self._ask(Asked(plan, self._store.active, folder, tilt))

    def _tilt(self, tilt: Tilt) -> None:
        """Measure the take that is shown again, the camera off by a tilt."""
        plan, measured = self._store.plan, self._measured
        if plan is None or measured is None:
            return
        asked = Asked(plan, measured.asked.name, measured.asked.folder, tilt)
        if self._behind.asked is not None or tilt != measured.seen.shown.reviewed.tilt:
            self._ask(asked)

    def _ask(self, asked: Asked) -> None:
        self._stop.set()
        self._stop = stop = Event()
        self._refusal.tell("")
        self._tell_work(say("Measuring the stills in {folder} …", folder=asked.folder.name))
        self._show_busy(busy=True)
        told = partial(self._progress.told.emit, asked)
        self._behind.ask(asked, partial(answer_of, asked, told, stop.is_set))
        self._follow()

    def stop(self) -> None:
        """Go no further; what was measured by now is shown."""
        self._stop.set()
        self._tell_work(say("Stopping …"))

    def learn(self) -> None:
        """Learn from the take: one step of undo, and the table of its frames beside the plan."""
        lacking = self.column.settle_charges()
        if lacking:
            self._refusal.tell(lacking)
            return
        self._teach(keep=True)

    def _teach(self, *, keep: bool) -> None:
        """Work out behind what the take teaches the plan as it stands; perhaps keep it."""
        plan, measured = self._store.plan, self._measured
        if plan is None or measured is None:
            return
        if holds_take(plan, measured):
            self._refusal.tell(_LEARNED)
            return
        if not still_holds(plan, measured):
            return
        under_way = self._teaching.asked
        if isinstance(under_way, LessonAsked) and under_way.measured is measured:
            # A charge that is typed while a take is being learned is learned with it.
            keep = keep or under_way.keep
        path = self.plan_file() if keep else None
        table = path.with_name(table_name(path.stem, measured.seen)) if path else None
        asked = LessonAsked(plan, measured, self.column.typed_charges, table, keep)
        self._refusal.tell("")
        # Leaving a charge's field for the button asks first, and must not take the press away.
        if keep:
            self.column.learn.setEnabled(False)
        self._teaching.ask(asked, partial(taught_of, asked))

    def _take_lesson(self, asked: LessonAsked, told: Taught | str) -> None:
        self._follow()
        if isinstance(told, str):
            self._refusal.tell(told)
        elif asked.measured is self._measured:
            self.column.show_figures(told.figures)
            if asked.keep and asked.plan is self._store.plan:
                if not self._table_written(asked):
                    return
                self._store.begin_gesture()
                self._store.replace(say("learn from a take"), told.lesson.plan)
            elif asked.keep:
                # Edited meanwhile: into the plan as it stands, if it expects the same still.
                self._teach(keep=True)

    def _table_written(self, asked: LessonAsked) -> bool:
        """Write the table of a lesson that is kept now; say why where it cannot be."""
        if asked.table is not None:
            try:
                write_table(asked.measured.seen, asked.table)
            except PlanError as refusal:
                self._refusal.tell(str(refusal))
                return False
        return True

    def leave(self) -> None:
        """Leave the take out: the plan stays as it is."""
        # Measured again meanwhile, by another horizon, it would come back.
        self._stop.set()
        self._behind.forget()
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
        name, _ = QFileDialog.getSaveFileName(
            self, say("Draft clip"), suggested, say("MP4 (*.mp4)"),
            # What lies there already stays: nothing to ask.
            options=QFileDialog.Option.DontConfirmOverwrite,
        )  # fmt: skip
        if not name:
            return
        target = Path(name) if Path(name).suffix else Path(f"{name}.mp4")
        self._draft_stop = stop = Event()
        asked = (measured.asked, target)
        told = partial(self._progress.told.emit, asked)
        work = partial(drafted, measured.seen, target, told, stop.is_set)
        self.column.draft.show_text(say("Stop the draft"))
        self._refusal.tell("")
        self._drafting.ask(asked, work)

    def _tell_draft(self, _asked: object, told: str) -> None:
        self.column.draft.show_text(DRAFT)
        self.column.drafted.show_text(told)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Leave what is under way."""
        self._draft_stop.set()
        self.column.horizon.forget()
        if self._behind.asked is not None:
            self.leave()
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
        self._refusal.tell(refusal)
        self.again_button.hide()
        self._pages.setCurrentIndex(0)

    def _tell_work(self, words: str) -> None:
        """Tell what is under way; the take that is shown meanwhile stays where it is."""
        height = self.told.height()
        self.told.show_text(words)
        if self._measured is not None:
            self.told.setMinimumHeight(height)

    def _show_busy(self, *, busy: bool) -> None:
        self.bar.show_share(0.0)
        for widget in (self.bar, self.stop_button):
            widget.setVisible(busy)
        self.about.setVisible(not busy)
        self.choose_button.setEnabled(not busy)
        self.again_button.setVisible(not busy)
        if busy and self._measured is None:
            self._pages.setCurrentIndex(0)

    def _tell_progress(self, asked: object, done: int, of: int) -> None:
        if asked == self._drafting.asked:
            self.column.drafted.show_text(say("{done} of {count} frames", done=done, count=of))
            return
        if not isinstance(asked, Asked):
            return
        if asked == self._behind.asked and not self._stop.is_set():
            self.bar.show_share(done / max(of, 1))
            self._tell_work(
                say(
                    "Measuring the stills in {folder}: {done} of {count}",
                    folder=asked.folder.name,
                    done=done,
                    count=of,
                )
            )

    def _take_answer(self, _asked: object, answer: Measured | str) -> None:
        refusal = answer if isinstance(answer, str) else ""
        # A take that is shown stays when it cannot be measured again.
        measured = self._measured if isinstance(answer, str) else answer
        if measured is None:
            self._ask_anew(refusal)
            return
        self._show_measured(measured)
        if refusal:
            self._refusal.tell(refusal)

    def _show_measured(self, answer: Measured) -> None:
        self._measured, self._written_in = answer, manner()
        self._show_busy(busy=False)
        self.sheet.show_take(answer)
        self.column.show_take(answer)
        self._pages.setCurrentIndex(1)
        self._follow()
        self._show_head()
        if self.column.typed_charges is not None:
            self._teach(keep=False)

    def _show_head(self) -> None:
        measured = self._measured
        if measured is None:
            return
        seen, looks = measured.seen, measured.seen.shown.reviewed.looks
        looked = sum(look is not None for look in looks)
        early = say("Stopped early, after {done} of {count} frames.", done=looked, count=len(looks))
        said = (lead_sentence(seen.shown), seen.advice)
        self.told.show_text(" ".join(said if seen.complete else (early, *said)))
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
        if self._behind.asked is None and self._written_in != manner():
            self._show_measured(measured)
            return
        learned = holds_take(plan, measured)
        fresh = still_holds(plan, measured)
        holds = fresh and not learned and self._behind.asked is None
        self.column.learn.setEnabled(holds and measured.seen.taught is not None)
        self.column.learn.show_text(say("Learned") if learned else say("Learn from this take"))
        why = "" if fresh or learned else _CHANGED
        self.column.learn.setToolTip(why or measured.seen.advice)
        self._refusal.tell(why)


def _told_once(seen: TakeReview) -> str:
    """The verdict without what stands above it or among the faults."""
    said = {fault.sentence for frame in seen.frames for fault in frame.faults}
    said.add(lead_sentence(seen.shown))
    return " ".join(sentence for sentence in seen.verdict if sentence not in said)
