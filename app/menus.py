"""The menus of the main window: every action with its key."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QApplication, QMenu, QMessageBox, QWidget

from app.columns import DRAWER_NAMES, SIDES, Side
from app.document import recent_plans
from app.looks import choose_theme, step_text_scale, step_theme, the_application
from app.manners import choices
from app.resources import demo_sites
from app.theme import ThemeName
from core.edit import PlanError
from core.language import language_name, languages, say, say_as
from core.plan import SHOOT_NAMES
from core.planfile import load

if TYPE_CHECKING:
    from app.window import MainWindow

_ABOUT = say(
    "<p><b>Duskwright</b></p>\n<p>A workbench for hyperlapses through dusk and dawn from a "
    "small camera drone: the minute to\npress, the settings, and whether the battery "
    "lasts.</p>\n<p>Its figures are planning figures. It never says that a flight may be "
    "flown:\ncheck the local rules and your licence.</p>\n<p>Time zone borders: "
    "OpenStreetMap contributors (ODbL). Coastline: Natural Earth.\nTypeface: Inter (SIL "
    "OFL 1.1).</p>"
)


def build_menus(window: MainWindow) -> None:
    """Give a window its menu bar."""
    _file_menu(window)
    _edit_menu(window)
    _shoot_menu(window)
    _night_menu(window)
    _view_menu(window)
    help_menu = window.menuBar().addMenu(say("&Help"))
    _add(
        help_menu,
        say("&Explain what is in hand"),
        window.beside.help,
        QKeySequence.StandardKey.HelpContents,
    )
    _add(help_menu, say("&Keys"), partial(window.beside.help, "keys"))
    help_menu.addSeparator()
    _add(
        help_menu, say("&About Duskwright"), lambda: QMessageBox.about(window, "Duskwright", _ABOUT)
    )


def _add(
    menu: QMenu, text: str, run: Callable[[], object], *keys: QKeySequence.StandardKey | str
) -> QAction:
    action = menu.addAction(text)
    action.triggered.connect(lambda _checked=False: run())
    action.setShortcuts(_bindings(*keys))
    return action


def _bindings(*keys: QKeySequence.StandardKey | str) -> list[QKeySequence]:
    """All keys of some actions' names, each once: one that stands twice would be ambiguous."""
    bindings: list[QKeySequence] = []
    for key in keys:
        if isinstance(key, QKeySequence.StandardKey):
            bindings += QKeySequence.keyBindings(key)
        else:
            bindings.append(QKeySequence(key))
    return list(dict.fromkeys(bindings))


def _file_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu(say("&File"))
    _add(menu, say("&New place…"), window.new_place, QKeySequence.StandardKey.New)
    _add(menu, say("&Open…"), window.open_file, QKeySequence.StandardKey.Open)
    recent = menu.addMenu(say("Open &recent"))
    recent.aboutToShow.connect(lambda: _fill_recent(window, recent))
    demos = menu.addMenu(say("Open a &demo site"))
    _add_demos(window, demos)
    menu.addSeparator()
    standard = QKeySequence.StandardKey
    save = _add(menu, say("&Save"), window.save, standard.Save)
    save_as = _add(menu, say("Save &as…"), window.save_as, standard.SaveAs, "Ctrl+Shift+S")
    menu.addSeparator()
    export = _add(menu, say("&Export…"), partial(_export, window), "Ctrl+E")
    card = _add(menu, say("&Field card…"), partial(_field_card, window), "Ctrl+P")
    menu.addSeparator()
    _add(menu, say("&Close"), window.close, QKeySequence.StandardKey.Close)
    _add(menu, say("&Quit"), QApplication.closeAllWindows, QKeySequence.StandardKey.Quit, "Ctrl+Q")
    _with_plan(window, save, save_as, export, card)


def _export(window: MainWindow) -> None:
    from app.exports import ask_export

    window.write_out(ask_export)


def _field_card(window: MainWindow) -> None:
    from app.exports import ask_card

    window.write_out(ask_card)


def show_places(window: MainWindow, button: QWidget) -> None:
    """Offer recent plans and the demo sites beneath a button."""
    places_menu(window).popup(button.mapToGlobal(button.rect().bottomLeft()))


def places_menu(window: MainWindow) -> QMenu:
    """Recent plans, then the demo sites; it goes when it closes."""
    menu = QMenu(window)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    _fill_recent(window, menu)
    menu.addSeparator()
    _add_demos(window, menu)
    return menu


def _add_demos(window: MainWindow, menu: QMenu) -> None:
    for path in demo_sites():
        _add(menu, _plain(load(path).place.name), partial(window.open_path, path, copy=True))


def _fill_recent(window: MainWindow, menu: QMenu) -> None:
    menu.clear()
    for path in recent_plans():
        text = f"{path.stem}  ({path.parent})"
        _add(menu, _plain(text), partial(window.open_path, path))
    if not menu.actions():
        menu.addAction(say("None yet")).setEnabled(False)


def _plain(text: str) -> str:
    """A text of the pilot's own, in which an ampersand marks no key."""
    return text.replace("&", "&&")


def _edit_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu(say("&Edit"))
    stack = window.store.undo_stack
    undo = _StepAction(say("&Undo"), say("&Undo {step}"), stack.undo, menu)
    undo.setShortcuts(_bindings(QKeySequence.StandardKey.Undo))
    stack.canUndoChanged.connect(undo.setEnabled)
    stack.undoTextChanged.connect(undo.show_step)
    redo = _StepAction(say("&Redo"), say("&Redo {step}"), stack.redo, menu)
    redo.setShortcuts(_bindings(QKeySequence.StandardKey.Redo, "Ctrl+Y"))
    stack.canRedoChanged.connect(redo.setEnabled)
    stack.redoTextChanged.connect(redo.show_step)
    menu.addActions([undo, redo])
    menu.addSeparator()
    move = window.document.move_shoots
    _with_plan(
        window,
        _add(menu, say("Copy A to B"), partial(move, say("copy A to B"), {"B": "A"})),
        _add(menu, say("Copy B to A"), partial(move, say("copy B to A"), {"A": "B"})),
        _add(menu, say("S&wap A and B"), partial(move, say("swap A and B"), {"A": "B", "B": "A"})),
    )


class _StepAction(QAction):
    """Undo or redo, named alone while there is no step to take, else with the step."""

    def __init__(self, alone: str, named: str, run: Callable[[], object], parent: QMenu) -> None:
        super().__init__(alone, parent)
        self._alone, self._named = alone, named
        self.setEnabled(False)
        self.triggered.connect(lambda _checked=False: run())

    @Slot(str)
    def show_step(self, step: str) -> None:
        """Name the step."""
        self.setText(self._named.format(step=_plain(step)) if step else self._alone)


def _shoot_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu(say("&Shoot"))
    store = window.store
    _with_plan(
        window,
        _add(menu, say("Shoot &A"), lambda: store.set_active("A"), "Ctrl+Shift+A"),
        _add(menu, say("Shoot &B"), lambda: store.set_active("B"), "Ctrl+Shift+B"),
    )
    menu.addSeparator()
    beside = window.beside
    _with_plan(
        window,
        _add(menu, say("Best s&ettings…"), beside.best, "Ctrl+B"),
        _add(menu, say("&A against B…"), beside.compare, "Ctrl+K"),
        _add(menu, say("Before take-o&ff and on site…"), beside.field, "Ctrl+F"),
        _add(menu, say("&Motion and weather…"), beside.moving, "Ctrl+M"),
        _add(menu, say("&Readings on site…"), beside.readings, "Ctrl+R"),
        _add(menu, say("&Late, early, one more battery…"), beside.late, "Ctrl+T"),
        _add(menu, say("La&st night…"), beside.last_night, "Ctrl+L"),
        _add(menu, say("Re&view the stills of a take…"), beside.review, "Ctrl+Shift+R"),
    )
    menu.addSeparator()
    details = _add(menu, say("&Place, path, camera and craft…"), beside.details, "Ctrl+I")
    _with_plan(window, details)


def _night_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu(say("&Night"))
    _with_plan(
        window,
        _add(menu, say("&Next night"), lambda: _step_night(window, 1), "Ctrl+PgDown"),
        _add(menu, say("&Previous night"), lambda: _step_night(window, -1), "Ctrl+PgUp"),
        _add(menu, say("&Many nights…"), window.beside.nights, "Ctrl+Shift+N"),
    )


def _view_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu(say("&View"))
    _add(menu, say("&Follow the desktop"), lambda: choose_theme(the_application(), None))
    for name, text in _THEMES.items():
        _add(menu, text, partial(choose_theme, the_application(), name))
    _add(menu, say("&Step light, dark, dim"), lambda: step_theme(the_application()), "Ctrl+D")
    menu.addSeparator()
    larger = QKeySequence.StandardKey.ZoomIn
    _add(menu, say("&Larger text"), lambda: step_text_scale(the_application(), 1), larger, "Ctrl+=")
    smaller = QKeySequence.StandardKey.ZoomOut
    _add(menu, say("S&maller text"), lambda: step_text_scale(the_application(), -1), smaller)
    _add(menu, say("&100 % text"), lambda: step_text_scale(the_application(), 0), "Ctrl+0")
    menu.addSeparator()
    _manner_menus(window, menu)
    menu.addSeparator()
    _drawer_actions(window, menu)


_THEMES: Final[dict[ThemeName, str]] = {
    "light": say_as("theme", "Light"),
    "dark": say_as("theme", "Dark"),
    "dim": say_as("theme", "Dim"),
}
#: What may be chosen of the manner of writing: its menu, then each choice with its words.
_MANNERS: Final = (
    ("units", say("&Units"), (("metric", say("Metres, °C")), ("imperial", say("Feet, miles, °F")))),
    ("hours", say("Cloc&k"), (("24", say("24 hours")), ("12", say("12 hours, am and pm")))),
    (
        "dates",
        say("D&ates"),
        (("plain", say("Day first, in plain words")), ("region", say("As the region"))),
    ),
)


def _manner_menus(window: MainWindow, menu: QMenu) -> None:
    """Units, clock, dates and language, each with the choice that holds marked."""
    named = tuple((code, language_name(code)) for code in languages())
    for kind, title, values in (*_MANNERS, ("language", say("La&nguage"), named)):
        group = QActionGroup(window)
        submenu = menu.addMenu(title)
        for value, text in ((None, say("As the desktop")), *values):
            action = _add(submenu, text, partial(window.write_in, kind, value))
            action.setCheckable(True)
            action.setData(value)
            group.addAction(action)
        submenu.aboutToShow.connect(partial(_mark_chosen, group, kind))


def _mark_chosen(group: QActionGroup, kind: str) -> None:
    for action in group.actions():
        action.setChecked(action.data() == getattr(choices(), kind))


def _drawer_actions(window: MainWindow, menu: QMenu) -> None:
    """The columns that a narrow window, or large text, has no room for."""
    for side, key in zip(SIDES, ("Ctrl+1", "Ctrl+2"), strict=True):
        action = _add(menu, DRAWER_NAMES[side], partial(window.columns.toggle, side), key)

        def show(_left: int = 0, _right: int = 0, side: Side = side, act: QAction = action) -> None:
            act.setEnabled(window.columns.is_drawer(side))

        window.columns.arranged.connect(show)
        show()


def _with_plan(window: MainWindow, *actions: QAction) -> None:
    """Let actions be used only while there is a plan."""

    def show() -> None:
        for action in actions:
            action.setEnabled(window.store.plan is not None)

    window.store.changed.connect(show)
    show()


def _step_night(window: MainWindow, days: int) -> None:
    """Move the active shoot's night, and the other's if both are on the same one."""
    store = window.store
    if store.plan is None:
        return
    here = store.plan.shoot(store.active)
    shoots = {name: store.plan.shoot(name) for name in SHOOT_NAMES}
    night = (here.date, here.twilight)
    same = [name for name, shoot in shoots.items() if (shoot.date, shoot.twilight) == night]
    date = here.date + dt.timedelta(days=days)
    store.begin_gesture()
    _edit(window, say("another night"), {f"shoots.{name}.date": date for name in same})


def _edit(window: MainWindow, label: str, values: dict[str, object]) -> None:
    try:
        window.store.edit(label, values)
    except PlanError as refusal:
        window.notice.tell(str(refusal))
