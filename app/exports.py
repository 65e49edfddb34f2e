"""Writing the active shoot's evening from the window: an export, or the field card."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from PySide6.QtWidgets import QFileDialog, QWidget

from app.card.pdf import card_pdf
from app.card.phone import card_html
from app.settings import settings
from app.store import Store
from core.export.card import PAPERS, PaperName, card_of
from core.export.formats import EXPORT_NAMES, EXPORTS, check_new, export_for, write_to
from core.forecast import Forecast, forecast
from core.language import say
from core.plan import Plan
from core.safewrite import file_stem

#: Makes the content of a file by its path; PlanError for a path that it cannot serve.
Maker = Callable[[Plan, Forecast, Path], bytes]

_FOLDER_KEY = "export_folder"
EXPORT_FILTERS: Final = {f"{EXPORTS[name].title} (*.{name})": name for name in EXPORT_NAMES}
_PHONE = say("For a phone (*.html)")
CARD_FILTERS: Final[dict[str, str]] = {
    _PHONE: "html",
    **{say("For paper, {paper} (*.pdf)", paper=paper): "pdf" for paper in PAPERS},
}


def ask_export(store: Store, parent: QWidget) -> str:
    """Ask for a file and a format and write it; what was done, empty where nothing was.

    Raises
    ------
    PlanError
        With one sentence, when the file cannot be written.
    """
    return _ask(store, parent, say("Export"), EXPORT_FILTERS, lambda _filter: _exported)


def ask_card(store: Store, parent: QWidget) -> str:
    """Ask for a file and write the field card; what was done, empty where nothing was.

    Raises
    ------
    PlanError
        With one sentence, when the file cannot be written.
    """
    return _ask(store, parent, say("Field card"), CARD_FILTERS, _card_maker)


def _ask(
    store: Store,
    parent: QWidget,
    title: str,
    filters: Mapping[str, str],
    maker: Callable[[str], Maker],
) -> str:
    plan = store.plan
    if plan is None:
        return ""
    shoot = plan.shoot(store.active)
    stem = f"{file_stem(plan.place.name)} {shoot.date} {store.active}"
    folder = Path(str(settings().value(_FOLDER_KEY, "") or Path.home()))
    suffix = next(iter(filters.values()))
    suggested = str(folder / f"{stem}.{suffix}")
    name, chosen = QFileDialog.getSaveFileName(parent, title, suggested, ";;".join(filters))
    if not name:
        return ""
    path = Path(name)
    if path.suffix.lower().removeprefix(".") not in filters.values():
        path = path.with_name(f"{path.name}.{filters.get(chosen, suffix)}")
        # The dialog asked about the name without its end.
        check_new(path, say("choose it by its whole name to replace it"))
    settings().setValue(_FOLDER_KEY, str(path.parent))
    write_to(path, maker(chosen)(plan, forecast(plan, store.active), path))
    return say("{name} is written.", name=path.name)


def _exported(plan: Plan, seen: Forecast, path: Path) -> bytes:
    return EXPORTS[export_for(path)].content(plan, seen, time.time())


def _card_maker(chosen: str) -> Maker:
    """The card on the paper that the chosen filter names, A4 where it names none."""
    paper: PaperName = next((one for one in PAPERS if one in chosen), PAPERS[0])

    def card(plan: Plan, seen: Forecast, path: Path) -> bytes:
        made = card_of(plan, seen, time.time())
        if path.suffix.lower() == ".html":
            return card_html(made, plan, seen)
        return card_pdf(made, plan, seen, paper)

    return card
