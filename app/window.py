"""The main window: composes the panels, the menus and the plan's file. Nothing else."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Final

from msgspec.structs import replace
from PySide6.QtCore import QMimeData, QPoint, Qt, QTimer
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QIcon,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QMainWindow,
    QMessageBox,
    QVBoxLayout,
    QWidget,
)

from app.columns import Columns
from app.document import PlanDocument
from app.looks import desktop, prepare, the_application
from app.manners import choices, choose
from app.menus import build_menus, show_places
from app.panels.findings import FindingsPanel
from app.panels.night import NightPanel
from app.panels.sheet import SheetPanel
from app.panels.shoot import ShootPanel
from app.panels.verdict import VerdictPanel
from app.resources import asset, demo_sites
from app.safekeeping import Kept, Safekeeping, kept_plans
from app.settings import settings
from app.sheet.darkroom import DARKROOM
from app.store import Store
from app.widgets.notice import Notice
from app.windows.beside import Beside
from app.windows.help import give_topic
from app.windows.new_place import NewPlaceDialog
from core.dates import date_text
from core.edit import PlanError
from core.language import say
from core.planfile import SUFFIX
from core.safewrite import file_stem, unwritten_text
from core.words import clock_text

_GEOMETRY_KEY = "window_geometry"
_FILES = say("Plans (*{suffix})", suffix=SUFFIX)
_BESIDE_THE_LAST = QPoint(28, 28)
#: What ends a name to say what kind of file it is.
_ENDING = re.compile(r"\.[A-Za-z]\w*")
_DARKROOM_AFTER_MS: Final = 500
#: Every main window that is open.
_OPEN: Final[set[MainWindow]] = set()


class MainWindow(QMainWindow):
    """One plan, everything on one clock."""

    def __init__(self) -> None:
        super().__init__()
        self.setAcceptDrops(True)
        self.setWindowIcon(QIcon(str(asset("icon/duskwright.svg"))))
        self.store = Store(self)
        self.document = PlanDocument(self.store, self)
        self.safekeeping = Safekeeping(self.store, self.document, self)
        self.notice = Notice(self)
        self.verdict = VerdictPanel(self.store)
        self.night = NightPanel(self.store)
        self.sheet = SheetPanel(self.store)
        self.shoot = ShootPanel(self.store)
        self.columns = Columns(self.night, self.sheet, self.shoot)
        self.findings = FindingsPanel(self.store)
        self.beside = Beside(
            self.store, self, self.document.move_shoots, lambda: self.document.path
        )
        self._compose()
        build_menus(self)
        self._explain()
        self.sheet.demo_requested.connect(self.open_first_demo)
        self.sheet.place_requested.connect(self.new_place)
        self.shoot.search_wanted.connect(self.beside.best)
        places = self.night.place.places
        places.clicked.connect(partial(show_places, self, places))
        for row in (self.shoot.start, *self.shoot.rows.values()):
            # The clock stands still under a moving slider.
            row.slider.sliderPressed.connect(self.sheet.hold)
            row.slider.sliderReleased.connect(self.sheet.release)
        self.document.changed.connect(self._show_file)
        self._show_file()
        # The keyboard begins where it cannot change anything.
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)
        self.resize(1280, 800)
        geometry = settings().value(_GEOMETRY_KEY)
        if geometry is not None:
            self.restoreGeometry(geometry)

    def _compose(self) -> None:
        whole = QVBoxLayout()
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self.verdict)
        whole.addWidget(self.notice)
        whole.addWidget(self.columns, 1)
        whole.addWidget(self.findings)
        body = QWidget()
        body.setLayout(whole)
        self.setCentralWidget(body)
        self.columns.arranged.connect(self.verdict.set_column_widths)
        # In the menu's row, where they take no height from the sheet.
        openers = QWidget(self.menuBar())
        row = QHBoxLayout(openers)
        row.setContentsMargins(0, 0, 0, 0)
        for button in self.columns.openers.values():
            row.addWidget(button)
        self.menuBar().setCornerWidget(openers)

    def _explain(self) -> None:
        """Say which page of the help belongs to what."""
        sheet = self.sheet
        for widget, topic in (
            (self, "start"), (self.verdict, "verdict"), (self.night, "night"),
            (self.night.path, "path"), (self.shoot, "settings"), (self.findings, "findings"),
            (sheet, "light"), (sheet.slack, "starts"), (sheet.fan, "frames"),
            *((one, "frames") for one in sheet.frames),
            *((one, "flight") for one in sheet.flights), (sheet.charge, "charge"),
        ):  # fmt: skip
            give_topic(widget, topic)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave the sheet its height in a low window."""
        super().resizeEvent(event)
        self.findings.fit_window(self.height())

    def showEvent(self, event: QShowEvent) -> None:
        """Stay for as long as it is open: Qt keeps no window alive that nothing refers to."""
        super().showEvent(event)
        _OPEN.add(self)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close, unless the pilot keeps editing."""
        if not self.may_lose_plan():
            event.ignore()
            return
        self.safekeeping.clear()
        settings().setValue(_GEOMETRY_KEY, self.saveGeometry())
        self.beside.close()
        event.accept()
        _OPEN.discard(self)
        if _OPEN:
            # The last one goes with the program.
            QTimer.singleShot(0, self.leave)

    def leave(self) -> None:
        """Give back what a window held that is closed or was never shown, while others stay."""
        # Without a plan first: a history that is destroyed still tells that it changed.
        self.store.open(None)
        self.deleteLater()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if _dropped_paths(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the files that were dropped; a folder is that of a take's stills."""
        event.acceptProposedAction()
        paths = _dropped_paths(event.mimeData())
        for folder in (path for path in paths if path.is_dir()):
            self.beside.review().measure(folder)
        self._tell([self._opened(path) for path in paths if not path.is_dir()])

    def new_place(self) -> None:
        """Ask for a place and start a plan for it."""
        plan = NewPlaceDialog.ask(self)
        if plan is not None:
            window = self._free_window()
            window.document.start(plan)
            window.come_forward()

    def open_file(self) -> None:
        """Ask for a plan file and open it."""
        folder = str(self.document.path.parent) if self.document.path else ""
        name, _ = QFileDialog.getOpenFileName(self, say("Open a plan"), folder, _FILES)
        if name:
            self.open_path(Path(name))

    def open_path(self, path: Path, *, copy: bool = False) -> None:
        """Open a plan file, or a ready one as a copy; this window says what is wrong with it.

        A plan that is open stays: the other one comes in a window of its own.
        """
        self._tell([self._opened(path, copy=copy)])

    def _tell(self, sentences: Sequence[str]) -> None:
        """Say what was wrong with some files, each in its sentence; nothing where nothing was."""
        told = " ".join(filter(None, sentences))
        if told:
            self.notice.tell(told)
        else:
            self.notice.clear()

    def _opened(self, path: Path, *, copy: bool = False) -> str:
        """Open a file in a window; what is wrong with it, '' where nothing is."""
        if not copy and (there := _window_of(path)) is not None:
            there.come_forward()
            return ""
        window = self._free_window()
        try:
            if copy:
                window.document.open_copy(path)
            else:
                window.document.open(path)
        except PlanError as refusal:
            if window is not self:
                window.leave()
            return str(refusal)
        window.come_forward()
        return ""

    def take_up(self, kept: Kept) -> None:
        """Take up a plan that was not saved when the program ended."""
        window = self._free_window()
        at = dt.datetime.fromtimestamp(kept.time_s, dt.UTC).astimezone()
        label = say("what was not saved at {at}", at=clock_text(at))
        window.document.recover(label, kept.unsaved, kept.path, kept.saved)
        window.safekeeping.adopt(kept)
        window.come_forward()
        window.notice.tell(
            say(
                "Duskwright ended before this plan was saved: it stands here as it was at "
                "{at} on {date}, still unsaved.",
                at=clock_text(at, seconds=True),
                date=date_text(at.date()),
            )
        )

    def come_forward(self) -> None:
        """Show the window in front of the others."""
        self.show()
        self.raise_()
        self.activateWindow()

    def _free_window(self) -> MainWindow:
        """The window for another plan: this one while nothing in it would be missed."""
        if self.document.is_untouched_copy:
            return self
        another = MainWindow()
        another.move(self.pos() + _BESIDE_THE_LAST)
        return another

    def open_first_demo(self) -> None:
        """Open the first ready site."""
        self.open_path(demo_sites()[0], copy=True)

    def save(self) -> bool:
        """Save to the plan's file, asking for one if it has none; whether it was saved."""
        if self.document.path is None:
            return self.save_as()
        return self._save_to(self.document.path)

    def save_as(self) -> bool:
        """Ask for a file and save to it; whether it was saved."""
        plan = self.store.plan
        if plan is None:
            return False
        folder = self.document.path.parent if self.document.path else Path.home()
        suggested = folder / f"{file_stem(plan.place.name)}{SUFFIX}"
        name, _ = QFileDialog.getSaveFileName(self, say("Save the plan"), str(suggested), _FILES)
        if not name:
            return False
        path = Path(name)
        if _ENDING.fullmatch(path.suffix):
            return self._save_to(path)
        # The dialog asked about the name without its ending; 'Quay v1.2' has none.
        return self._save_to(path.with_name(path.name + SUFFIX), replaces=False)

    def _save_to(self, path: Path, *, replaces: bool = True) -> bool:
        try:
            if not replaces:
                from core.export.formats import check_new

                check_new(path, say("choose it by its whole name to replace it"))
            self.document.save(path)
        except PlanError as refusal:
            self.notice.tell(
                say("{refusal} The plan is still open here, unsaved.", refusal=refusal)
            )
            return False
        self.notice.clear()
        return True

    def write_out(self, ask: Callable[[Store, QWidget], str]) -> None:
        """Ask for a file for other programs, or for the site, and write it."""
        try:
            ask(self.store, self)
        except PlanError as refusal:
            self.notice.tell(str(refusal))
        else:
            self.notice.clear()

    def write_in(self, kind: str, value: str | None) -> None:
        """Write units, clock or dates in another manner in every window; None as the desktop."""
        try:
            choose(replace(choices(), **{kind: value}), desktop())
            if kind == "language":
                told = say("The language changes when Duskwright is started again.")
                self.notice.tell(told, "note")
        except OSError as refusal:
            self.notice.tell(
                say(
                    "The choice was not kept for the next start: {reason}.",
                    reason=unwritten_text(refusal),
                )
            )
        for window in _OPEN:
            window.store.write_anew()

    def may_lose_plan(self) -> bool:
        """Whether the open plan may go: it is saved, or the pilot lets it go."""
        if not self.document.unsaved:
            return True
        plan = self.store.plan
        name = plan.place.name if plan else ""
        box = QMessageBox(self)
        box.setIcon(QMessageBox.Icon.NoIcon)
        box.setWindowTitle("Duskwright")
        box.setText(say("Save the changes to {name}?", name=name))
        box.setInformativeText(say("Without saving they are lost."))
        save = box.addButton(say("Save"), QMessageBox.ButtonRole.AcceptRole)
        lose = box.addButton(say("Lose the changes"), QMessageBox.ButtonRole.DestructiveRole)
        keep = box.addButton(say("Keep editing"), QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(save)
        box.setEscapeButton(keep)
        box.exec()
        if box.clickedButton() is save:
            return self.save()
        return box.clickedButton() is lose

    def _show_file(self) -> None:
        plan = self.store.plan
        path = self.document.path
        name = path.name if path else plan.place.name if plan else ""
        title = say("{name}[*] \N{EN DASH} Duskwright", name=name) if name else "Duskwright"
        self.setWindowTitle(title)
        self.setWindowModified(self.document.unsaved)


def open_window(plan: Path | None) -> MainWindow:
    """Show the main window, with a plan file in it or empty.

    Plans that a crash left unsaved come back first, each in a window of its own.
    """
    application = the_application()
    prepare(application)
    window = MainWindow()
    window.show()
    # Behind the first picture, which it would hold up.
    QTimer.singleShot(_DARKROOM_AFTER_MS, DARKROOM.open)
    application.aboutToQuit.connect(DARKROOM.close)
    for kept in kept_plans():
        if isinstance(kept, Kept):
            window.take_up(kept)
        else:
            window.notice.tell(
                say(
                    "Duskwright ended before a plan was saved, and what it kept of it "
                    "cannot be read: it is left in {folder}.",
                    folder=kept,
                )
            )
    if plan is not None:
        window.open_path(plan)
    return window


def _window_of(path: Path) -> MainWindow | None:
    """The window in which a plan file is open."""
    with contextlib.suppress(OSError):
        for window in _OPEN:
            own = window.document.path
            if own is not None and own.resolve() == path.resolve():
                return window
    return None


def _dropped_paths(dropped: QMimeData) -> list[Path]:
    return [Path(url.toLocalFile()) for url in dropped.urls() if url.isLocalFile()]
