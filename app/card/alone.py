"""The field card's PDF for the command line: Qt without a window and without a screen."""

from __future__ import annotations

import os

from core.edit import PlanError
from core.export.card import Card, PaperName
from core.forecast import Forecast
from core.language import say
from core.plan import Plan


def pdf_alone(card: Card, plan: Plan, seen: Forecast, paper: PaperName) -> bytes:
    """Return the card as PDF, in a process that may have no application yet.

    Raises
    ------
    PlanError
        With one sentence, when Qt cannot be loaded.
    """
    from app.startup import drawing_trouble

    if (trouble := drawing_trouble()) is not None:
        way_out = say("A card that ends in .html needs none of it.")
        raise PlanError(f"{trouble} {way_out}")
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from PySide6.QtGui import QGuiApplication

    # It lives until the page is drawn.
    application = QGuiApplication.instance() or QGuiApplication(["duskwright"])
    from app.card.pdf import card_pdf

    made = card_pdf(card, plan, seen, paper)
    del application
    return made
