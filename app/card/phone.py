"""The field card for a phone, from the template that comes with the program."""

from __future__ import annotations

from app.resources import asset
from core.export.card import Card
from core.export.cardpage import card_page
from core.forecast import Forecast
from core.plan import Plan


def card_html(card: Card, plan: Plan, seen: Forecast) -> bytes:
    """Return the card as one page of HTML."""
    return card_page(card, plan, seen, asset("card/phone.html").read_text(encoding="utf-8"))
