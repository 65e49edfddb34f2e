"""Every text of the program has its translation, and each translation its places."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.catalog import Message

from tests.catalogues import ROOT, catalogue, compiled, languages, renewed, untranslated

LANGUAGES = sorted(languages())
#: What a text permits or scolds with, by language, as JUDGING and SCOLDING are for English.
UNSAID = {
    "de": re.compile(
        r"\b(sicher\w*|erlaubt\w*|gestattet\w*|okay|ok|frei|Fehler\w*|ungültig\w*|Warnung\w*|bitte)\b"
        r"|!(\s|$)",
        re.IGNORECASE,
    )
}


def _forms(message: Message) -> list[tuple[str, str]]:
    """The English of a message beside its translation, each form of it."""
    ids = [message.id] if isinstance(message.id, str) else list(message.id)
    told = [message.string] if isinstance(message.string, str) else list(message.string or ())
    return [(ids[-1], one or "") for one in told]


def _places(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.stem)
def test_every_text_is_translated(path: Path) -> None:
    # `python -m tests.catalogues` takes up what is new.
    assert [one.id for one in untranslated(renewed(path))] == []


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.stem)
def test_what_the_program_reads_is_what_was_translated(path: Path) -> None:
    assert path.with_suffix(".mo").read_bytes() == compiled(catalogue(path))
    texts = {(one.context, one.id) for one in renewed(path)}
    assert texts == {(one.context, one.id) for one in catalogue(path)}


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.stem)
def test_a_translation_has_the_places_of_its_text(path: Path) -> None:
    wrong = [
        (english, told)
        for message in catalogue(path)
        if message.id
        for english, told in _forms(message)
        # '1 file' needs no place for its count
        if _places(english) - {"count"} != _places(told) - {"count"}
    ]
    assert wrong == []


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.stem)
def test_a_translation_has_the_edges_and_the_key_of_its_text(path: Path) -> None:
    def edges(text: str) -> tuple[str, str, bool]:
        inner = text.strip()
        key = re.search(r"&\w", text.replace("&&", "")) is not None
        return (
            text[: len(text) - len(text.lstrip())],
            text[len(text.rstrip()) :] if inner else "",
            key,
        )

    wrong = [
        (english, told)
        for message in catalogue(path)
        if message.id
        for english, told in _forms(message)
        if edges(english) != edges(told)
    ]
    assert wrong == []


@pytest.mark.parametrize("path", LANGUAGES, ids=lambda path: path.stem)
def test_no_translation_promises_or_scolds(path: Path) -> None:
    said = [
        told
        for message in catalogue(path)
        if message.id
        for _, told in _forms(message)
        if UNSAID[path.stem].search(told)
    ]
    assert said == []


@pytest.mark.timeout(570)  # every window and state is shown
def test_nothing_that_a_pilot_sees_is_missing_from_the_catalogues() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "tests.unsaid"],
        cwd=ROOT, capture_output=True, text=True, timeout=540, check=False,
    )  # fmt: skip
    assert (run.stdout, run.returncode) == ("", 0), run.stderr
