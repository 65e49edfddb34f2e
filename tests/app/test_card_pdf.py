"""The field card on paper, read back and looked at by another library."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from PySide6.QtWidgets import QApplication

from app.card.pdf import card_pdf
from app.resources import demo_sites
from core.edit import with_values
from core.export.card import PAPERS, PaperName, card_of
from core.forecast import Forecast, forecast
from core.plan import Plan, ShootName, Station
from core.planfile import load
from tests.app.commands import BANNED, answered, refused

SITES = {site.stem: site for site in demo_sites()}
MADE_S = 1_790_000_000.0
#: Points of 1/72 inch (ISO 216 and ANSI/ASME Y14.1).
SIZES = {"A4": (595, 842), "Letter": (612, 792)}
#: Inch of the page that printers may leave blank.
EDGE = 12.0 / 25.4


@cache
def seen_at(stem: str) -> tuple[Plan, Forecast]:
    """A ready site with its forecast, worked out once for both papers."""
    plan = load(SITES[stem])
    return plan, forecast(plan, "A")


def page_of(
    plan: Plan, paper: PaperName, name: ShootName = "A", seen: Forecast | None = None
) -> pdfium.PdfDocument:
    seen = seen or forecast(plan, name)
    return pdfium.PdfDocument(card_pdf(card_of(plan, seen, MADE_S), plan, seen, paper))


def raw_text(document: pdfium.PdfDocument) -> str:
    text: str = document[0].get_textpage().get_text_range()
    return text


def text_of(document: pdfium.PdfDocument) -> str:
    return " ".join(raw_text(document).split())


def right_edge(document: pdfium.PdfDocument, word: str) -> float:
    """Where a word on the page ends, in points from the left."""
    page = document[0].get_textpage()
    found = page.search(word).get_next()
    assert found is not None
    first, count = found
    return max(float(page.get_charbox(place)[2]) for place in range(first, first + count))


def long_plan(plan: Plan) -> Plan:
    """As much as a pilot could put on a card: a long name, forty stations, every caution."""
    stations = tuple(
        Station(
            east_m=-60.0 + 3.0 * k, north_m=40.0 + (k % 7) * 4.0, up_m=60.0 + k, heading_deg=9.0 * k
        )
        for k in range(40)
    )
    return with_values(
        plan,
        {
            "place.name": "The old ferry landing below the lighthouse of the northern point " * 3,
            "path.stations": stations,
            "shoots.A.conditions.temperature_c": -6.0,
            "shoots.A.conditions.gust_10m_m_s": 9.0,
            "shoots.A.shutter_s": 1.6,
            "craft.state_of_health": 0.8,
            "craft.rated_min": 60.0,
        },
    )


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("stem", sorted(SITES))
@pytest.mark.usefixtures("qapp")
def test_a_card_is_one_page_whose_text_can_be_selected(stem: str, paper: PaperName) -> None:
    plan, seen = seen_at(stem)
    card = card_of(plan, seen, MADE_S)
    document = page_of(plan, paper, seen=seen)
    assert len(document) == 1
    assert tuple(round(side) for side in document[0].get_size()) == SIZES[paper]
    text = text_of(document)
    said: Sequence[str] = (
        card.place, card.press, card.stop, card.stop_charge, *card.press_lines,
        *(value for _, value in card.settings),
        *(part for step in card.steps for part in (step.local, step.utc, step.charge, step.note)),
        *(station.words for station in card.stations),
        *(text for pair in (*card.moments, *card.late, *card.air) for text in pair),
        *(finding.fact for finding in card.cautions),
    )  # fmt: skip
    # Lines may break anywhere between two words.
    missing = [words for words in said if words.split() and not _holds(text, words)]
    assert missing == []
    assert BANNED.search(text) is None
    # The launch point's name stays in the sketch, whose corner says where north is.
    assert right_edge(document, "launch") <= right_edge(document, "north up") + 8.0
    assert "Check the local rules and your licence." in text


def _holds(text: str, words: str) -> bool:
    return words in text or all(word in text for word in words.split())


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.usefixtures("qapp")
def test_the_longest_plan_stands_on_one_page_with_nothing_cut(paper: PaperName) -> None:
    plan = long_plan(load(SITES["corvane_harbour"]))
    seen = forecast(plan, "A")
    document = page_of(plan, paper, seen=seen)
    assert len(document) == 1
    text = text_of(document)
    findings = [finding for finding in seen.findings if finding.shoot == "A"]
    assert len(findings) >= 6
    assert seen.outlook.flight.error is None
    assert [one.text for one in findings if not _holds(text, one.text)] == []
    assert _holds(text, plan.place.name)
    assert "40: 99 m up" in text
    # No figure without its unit at the end of a line.
    assert re.search(r"(?<!:) \d+\s*\r?\n\s*(?:m|s|%|px|m/s|min)\b", raw_text(document)) is None
    ink = ink_of(document)
    rows, columns = (np.flatnonzero(ink.any(axis=axis)) for axis in (1, 0))
    height, width = ink.shape
    edge = round(EDGE * 144) - 3
    # Everything inside the printable edge, down to the last line.
    assert rows[0] >= edge
    assert rows[-1] <= height - edge
    assert columns[0] >= edge
    assert columns[-1] <= width - edge


def ink_of(document: pdfium.PdfDocument) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Where the page is not white, at 144 dots an inch."""
    picture = document[0].render(scale=2.0).to_numpy()
    return np.asarray(picture[..., :3].min(axis=2) < 200)


@pytest.mark.usefixtures("qapp")
def test_a_flight_that_cannot_be_flown_is_said_in_the_place_of_the_stop() -> None:
    plan = with_values(load(SITES["corvane_harbour"]), {"shoots.A.conditions.wind_10m_m_s": 25.0})
    seen = forecast(plan, "A")
    assert seen.outlook.flight.error is not None
    assert _holds(text_of(page_of(plan, "A4")), seen.outlook.flight.error)


@pytest.mark.usefixtures("qapp")
def test_the_other_shoot_and_a_hard_name() -> None:
    plan = with_values(
        load(SITES["lanternshell_bay"]), {"place.name": "Île d’Öland “<b>&amp;</b>”\nNorðr"}
    )
    document = page_of(plan, "A4", "B")
    text = text_of(document)
    assert "Île d’Öland “<b>&amp;</b>” Norðr" in text
    assert " B " in text
    assert "dawn" in text
    assert "lamps off" in text
    assert document.get_metadata_value("Creator") == "Duskwright"
    assert document.get_metadata_value("Title").endswith("shoot B")


def test_the_command_writes_both_papers(qapp: QApplication, tmp_path: Path) -> None:
    assert qapp is not None
    site = str(SITES["porto_carimba"])
    for paper, size in SIZES.items():
        path = tmp_path / f"{paper}.pdf"
        said = answered("card", site, "--to", str(path), "--paper", paper.lower())
        assert said == f"{paper}.pdf is written.\n"
        found = pdfium.PdfDocument(path)[0].get_size()
        assert tuple(round(side) for side in found) == size


def test_a_pdf_needs_no_screen(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    without = {"DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"}
    bare = {name: value for name, value in os.environ.items() if name not in without}
    words = [sys.executable, "-m", "app", "card", str(SITES["porto_carimba"]), "--to", str(path)]
    done = subprocess.run(words, env=bare, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert len(pdfium.PdfDocument(path)) == 1


def test_a_card_of_another_kind_is_refused(tmp_path: Path) -> None:
    site = str(SITES["porto_carimba"])
    assert "ends in .html or .pdf" in refused("card", site, "--to", str(tmp_path / "card.png"))
    words = ("--to", str(tmp_path / "card.pdf"), "--paper", "A5")
    assert '--paper has "A5"; A4 or Letter was expected' in refused("card", site, *words)
    assert "needs --to" in refused("card", site)
    assert "folder is not there" in refused("card", site, "--to", str(tmp_path / "no" / "c.html"))
    assert list(tmp_path.iterdir()) == []
