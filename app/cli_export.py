"""The commands `export` and `card`: an evening for other programs, for a phone and on paper."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from app.card.phone import card_html
from app.cli_parts import not_among, plan_of, shoot_of
from core.edit import PlanError
from core.export.card import PAPERS, PaperName, card_of
from core.export.formats import (
    EXPORT_NAMES,
    EXPORTS,
    ExportName,
    check_new,
    export_for,
    export_named,
    write_to,
)
from core.forecast import forecast
from core.language import say
from core.safewrite import file_name
from core.sentences import shown
from core.words import listed

CARD_SUFFIXES = (".html", ".pdf")


def export_answer(words: argparse.Namespace) -> str:
    """Write the export that a parsed command asks for, or return it where no file is named.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used or the file cannot be written.
    """
    name = _export_name(words)
    if words.to is not None:
        _check_replaced(words)
    shoot, plan = shoot_of(words), plan_of(words)
    content = EXPORTS[name].content(plan, forecast(plan, shoot), time.time())
    if words.to is None:
        return content.decode()
    return written(Path(words.to), content)


def card_answer(words: argparse.Namespace) -> str:
    """Write the field card that a parsed command asks for.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used or the file cannot be written.
    """
    path = Path(words.to)
    suffix, paper = path.suffix.lower(), paper_of(words.paper)
    if suffix not in CARD_SUFFIXES:
        raise PlanError(
            say(
                "The file to write is {file}; a name that ends in {ends} was expected.",
                file=shown(file_name(path)),
                ends=listed(CARD_SUFFIXES),
            )
        )
    _check_replaced(words)
    shoot, plan = shoot_of(words), plan_of(words)
    seen = forecast(plan, shoot)
    card = card_of(plan, seen, time.time())
    if suffix == ".html":
        return written(path, card_html(card, plan, seen))
    from app.card.alone import pdf_alone

    return written(path, pdf_alone(card, plan, seen, paper))


def paper_of(text: str) -> PaperName:
    """The paper of a name, in any case; PlanError for another one."""
    for paper in PAPERS:
        if paper.lower() == text.lower():
            return paper
    raise not_among("--paper", text, PAPERS)


def written(path: Path, content: bytes) -> str:
    """Write a file and return the line that says so."""
    write_to(path, content)
    # One line, whatever the name is made of.
    return say("{name} is written.\n", name=" ".join(file_name(path).split()))


def _check_replaced(words: argparse.Namespace) -> None:
    """Nothing is written over unless the command says so."""
    if not words.replace:
        check_new(Path(words.to), say("give another name, or add --replace"))


def _export_name(words: argparse.Namespace) -> ExportName:
    if words.format is not None:
        name = export_named(words.format)
        if name is None:
            raise not_among("--format", words.format, EXPORT_NAMES)
        return name
    if words.to is None:
        raise PlanError(
            say(
                "Neither --to nor --format is given; name a file that ends in {ends}, or "
                "a format to print.",
                ends=listed(tuple(f".{known}" for known in EXPORT_NAMES)),
            )
        )
    return export_for(Path(words.to))
