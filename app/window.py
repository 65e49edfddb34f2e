"""The main window: composes the panels, the menus and the plan's file. Nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QIcon, QResizeEvent
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
from app.looks import prepare, the_application
from app.menus import build_menus
from app.panels.findings import FindingsPanel
from app.panels.night import NightPanel
from app.panels.sheet import SheetPanel
from app.panels.shoot import ShootPanel
from app.panels.verdict import VerdictPanel
from app.resources import asset, demo_sites
from app.settings import settings
from app.store import Store
from app.widgets.notice import Notice
from app.windows.beside import Beside
from app.windows.new_place import NewPlaceDialog
from core.edit import PlanError
from core.planfile import SUFFIX
from core.safewrite import file_stem

_GEOMETRY_KEY = "window_geometry"
_FILES = f"Plans (*{SUFFIX})"


class MainWindow(QMainWindow):
    """One plan, everything on one clock."""

    def __init__(self) -> None:
        super().__init__()
        self.setWindowIcon(QIcon(str(asset("icon/duskwright.svg"))))
        self.store = Store(self)
        self.document = PlanDocument(self.store, self)
        self.notice = Notice(self)
        self.verdict = VerdictPanel(self.store)
        self.night = NightPanel(self.store)
        self.sheet = SheetPanel(self.store)
        self.shoot = ShootPanel(self.store)
        self.columns = Columns(self.night, self.sheet, self.shoot)
        self.findings = FindingsPanel(self.store)
        self.beside = Beside(self.store, self, self.document.move_shoots)
        self._compose()
        build_menus(self)
        self.sheet.demo_requested.connect(self.open_first_demo)
        self.sheet.place_requested.connect(self.new_place)
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

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave the sheet its height in a low window."""
        super().resizeEvent(event)
        self.findings.fit_window(self.height())

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close, unless the pilot keeps editing."""
        if not self.may_lose_plan():
            event.ignore()
            return
        settings().setValue(_GEOMETRY_KEY, self.saveGeometry())
        self.beside.close()
        event.accept()

    def new_place(self) -> None:
        """Ask for a place and start a plan for it."""
        if not self.may_lose_plan():
            return
        plan = NewPlaceDialog.ask(self)
        if plan is not None:
            self.document.start(plan)
            self.notice.clear()

    def open_file(self) -> None:
        """Ask for a plan file and open it."""
        folder = str(self.document.path.parent) if self.document.path else ""
        name, _ = QFileDialog.getOpenFileName(self, "Open a plan", folder, _FILES)
        if name:
            self.open_path(Path(name))

    def open_path(self, path: Path, *, copy: bool = False) -> None:
        """Open a plan file, or a ready one as a copy; the window says what is wrong with it."""
        if not self.may_lose_plan():
            return
        try:
            if copy:
                self.document.open_copy(path)
            else:
                self.document.open(path)
        except PlanError as refusal:
            kept = " The plan that was open is still open." if self.store.plan else ""
            self.notice.tell(f"{refusal}{kept}")
        else:
            self.notice.clear()

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
        name, _ = QFileDialog.getSaveFileName(self, "Save the plan", str(suggested), _FILES)
        if not name:
            return False
        path = Path(name)
        return self._save_to(path if path.suffix else path.with_suffix(SUFFIX))

    def _save_to(self, path: Path) -> bool:
        try:
            self.document.save(path)
        except PlanError as refusal:
            self.notice.tell(f"{refusal} The plan is still open here, unsaved.")
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

    def may_lose_plan(self) -> bool:
        """Whether the open plan may go: it is saved, or the pilot lets it go."""
        if not self.document.unsaved:
            return True
        plan = self.store.plan
        name = plan.place.name if plan else ""
        box = QMessageBox(self)
        box.setIcon(QMessageBox.Icon.NoIcon)
        box.setWindowTitle("Duskwright")
        box.setText(f"Save the changes to {name}?")
        box.setInformativeText("Without saving they are lost.")
        save = box.addButton("Save", QMessageBox.ButtonRole.AcceptRole)
        lose = box.addButton("Lose the changes", QMessageBox.ButtonRole.DestructiveRole)
        keep = box.addButton("Keep editing", QMessageBox.ButtonRole.RejectRole)
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
        title = f"{name}[*] \N{EN DASH} Duskwright" if name else "Duskwright"
        self.setWindowTitle(title)
        self.setWindowModified(self.document.unsaved)


def open_window(plan: Path | None) -> MainWindow:
    """Show the main window, with a plan file in it or empty."""
    prepare(the_application())
    window = MainWindow()
    window.show()
    if plan is not None:
        window.open_path(plan)
    return window
