"""The field card on paper: one page of PDF, whatever the plan, with text that can be selected."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QPointF, QRectF, QSizeF
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter, QPdfWriter, QPen, QPicture

from app.card.paper import (
    DOTS_PER_INCH,
    GREY,
    INK,
    INK2,
    PALE,
    Paper,
    width_of,
)  # fmt: skip
from app.card.sketch import draw_path
from app.theme import THEMES, load_fonts
from app.widgets.marks import draw_mark_anew
from core.export.card import Card, CardStep, PaperName
from core.export.plain import PROGRAM
from core.forecast import Forecast
from core.language import say, say_count
from core.phrases import leading
from core.plan import Plan
from core.preview import develop, frame_indices, frame_size, linear_frames

_SIZES: Final[dict[PaperName, QPageSize.PageSizeId]] = {
    "A4": QPageSize.PageSizeId.A4,
    "Letter": QPageSize.PageSizeId.Letter,
}

#: The printer's grid, and the least edge that printers leave.
_RESOLUTION: Final = 1200
_MARGIN_MM: Final = 12.0
#: The page is set smaller, in these steps, until everything stands on it.
_STEP, _LEAST = 0.98, 0.4
_FRAMES, _FRAME_ROWS = 4, 180
_STEP_ROW, _SIDE = 36.0, 20.0
#: More stations than these run on in lines across the page.
_LISTED: Final = 6


@dataclass(frozen=True)
class _Columns:
    """Where the columns of the steps stand: right edges of the clocks, left ones of the words."""

    local: float
    utc: float
    charge: float
    name: float
    note: float


def card_pdf(card: Card, plan: Plan, seen: Forecast, paper: PaperName) -> bytes:
    """Return the card as a PDF of one page.

    An application must be running; it needs no screen.
    """
    load_fonts()
    frames = _pictures(plan, seen)
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setPageSize(QPageSize(_SIZES[paper]))
    writer.setResolution(_RESOLUTION)
    edge = QMarginsF(_MARGIN_MM, _MARGIN_MM, _MARGIN_MM, _MARGIN_MM)
    writer.setPageMargins(edge, QPageLayout.Unit.Millimeter)
    writer.setTitle(
        say("{place}: {day}, shoot {shoot}", place=card.place, day=card.day, shoot=card.name)
    )
    writer.setCreator(PROGRAM)
    unit = _RESOLUTION / DOTS_PER_INCH
    room = QSizeF(writer.width() / unit, writer.height() / unit)
    scale = _scale_for(card, frames, room)
    with QPainter(writer) as painter:
        painter.scale(unit * scale, unit * scale)
        _Page(painter, card, frames, room / scale).draw()
    buffer.close()
    return bytes(held.data())


def _pictures(plan: Plan, seen: Forecast) -> tuple[tuple[int, QImage], ...]:
    """A few predicted frames with their numbers, counted from 1."""
    out = seen.outlook
    chosen = frame_indices(out.clip.frames, _FRAMES)
    rows, cols = frame_size(plan.camera, _FRAME_ROWS)
    drawn = develop(
        linear_frames(plan, out, chosen, rows, cols), out.mid, plan.camera.highlight_stops
    )
    kind = QImage.Format.Format_RGB888
    return tuple(
        (index + 1, QImage(one.tobytes(), cols, rows, 3 * cols, kind).copy())
        for index, one in zip(chosen, drawn, strict=True)
    )


def _scale_for(card: Card, frames: tuple[tuple[int, QImage], ...], room: QSizeF) -> float:
    """The largest type, 1 at the most, with which the whole card stands on the page."""
    scale = 1.0
    while scale > _LEAST:
        trial = QPicture()
        with QPainter(trial) as painter:
            height = _Page(painter, card, frames, room / scale).draw()
        if height <= room.height() / scale:
            break
        scale *= _STEP
    return scale


class _Page:
    """The card's sections, from the top down."""

    def __init__(
        self, painter: QPainter, card: Card, frames: tuple[tuple[int, QImage], ...], room: QSizeF
    ) -> None:
        self._card, self._frames, self._room = card, frames, room
        self._paper = Paper(painter, room.width())

    def draw(self) -> float:
        """Draw everything and return how far down it reaches."""
        for section in (
            self._head, self._clocks, self._settings, self._steps, self._path_and_frames,
            self._cautions, self._write_down, self._foot,
        ):  # fmt: skip
            section()
        return self._paper.y

    def _head(self) -> None:
        paper, card = self._paper, self._card
        flag = QRectF(paper.width - 40, 0, 38, 36)
        paper.box(flag, 2.0)
        across = width_of(card.name, 24, 700)
        paper.word(flag.center().x() - across / 2, card.name, 24, 700, y=3)
        room, sizes = paper.width - 60, (30, 26, 22)
        size = next((s for s in sizes if width_of(card.place, s, 700) <= room), sizes[-1])
        paper.skip(paper.paragraph(0, room, card.place, size, 700))
        paper.skip(paper.paragraph(0, paper.width - 60, f"{card.day}. {card.where}", 16, ink=INK2))
        paper.skip(8)
        paper.rule(0, paper.width, 2.5)
        paper.skip(10)

    def _clocks(self) -> None:
        """When to press and by when to stop, side by side; the lower one of both ends it."""
        paper, card = self._paper, self._card
        top, half = paper.y, 0.53 * paper.width
        paper.word(0, say("Press at"), 16, 600, ink=INK2)
        paper.word(half, say("Last frame by"), 16, 600, ink=INK2)
        paper.skip(18)
        big = paper.y
        paper.word(-3, card.press, 76, 700)
        paper.skip(88)
        for line in card.press_lines:
            paper.skip(paper.paragraph(0, half - 30, line, 16, ink=INK2))
        left, paper.y = paper.y, big
        if card.stop:
            paper.word(half - 3, card.stop, 76, 700)
            paper.skip(88)
            wide = paper.word(half, card.stop_charge, 30, 700)
            paper.word(
                half + wide + 12,
                say("charge on the gauge, whichever comes first"),
                15,
                ink=INK2,
                y=paper.y + 13,
            )
            paper.skip(38)
        for line in card.stop_lines:
            weight = 400 if card.stop else 600
            paper.skip(paper.paragraph(half, paper.width - half, line, 16, weight))
        paper.y = max(left, paper.y)
        paper.painter.setPen(QPen(GREY, 1.0))
        paper.painter.drawLine(QPointF(half - 20, top + 2), QPointF(half - 20, paper.y))
        paper.skip(10)

    def _settings(self) -> None:
        paper, card = self._paper, self._card
        paper.rule(0, paper.width, 1.5)
        paper.skip(8)
        cell = paper.width / len(card.settings)
        for place, (label, value) in enumerate(card.settings):
            x = place * cell
            if place:
                paper.painter.setPen(QPen(GREY, 1.0))
                paper.painter.drawLine(QPointF(x - 10, paper.y), QPointF(x - 10, paper.y + 48))
            paper.word(x, label, 14, ink=INK2)
            size = next((s for s in (24, 20, 17) if width_of(value, s, 700) < cell - 14), 14)
            paper.word(x, value, size, 700, y=paper.y + 17 + (24 - size) * 0.9)
        paper.skip(54)
        paper.skip(paper.paragraph(0, paper.width, card.locked, 15, ink=INK2))
        paper.skip(7)

    def _steps(self) -> None:
        paper, card = self._paper, self._card
        paper.rule(0, paper.width, 1.5)
        paper.skip(8)
        columns = _Columns(170, 280, 372, 400, 560)
        paper.word(0, say("Steps"), 18, 700)
        for x, text in (
            (columns.local, say("local")),
            (columns.utc, "UTC"),
            (columns.charge, say("gauge")),
        ):
            paper.word(x, text, 14, ink=INK2, right=True, y=paper.y + 4)
        paper.word(paper.width - 2, say("did"), 14, ink=INK2, right=True, y=paper.y + 4)
        paper.skip(26)
        for place, step in enumerate(card.steps):
            first_bound = step.bound and not card.steps[place - 1].bound
            self._step(step, columns, first_bound=first_bound)
        paper.skip(12)

    def _step(self, step: CardStep, columns: _Columns, *, first_bound: bool) -> None:
        paper, row = self._paper, _STEP_ROW
        if step.bound or step.kind == "first_shutter":
            paper.fill(QRectF(0, paper.y, paper.width, row), PALE)
        if first_bound:
            pen = QPen(INK, 2.0)
            pen.setDashPattern([4.0, 3.0])
            paper.painter.setPen(pen)
            paper.painter.drawLine(QPointF(0, paper.y), QPointF(paper.width, paper.y))
        if step.bound:
            paper.word(8, say("limit"), 15, 700, y=paper.y + 9)
        paper.word(columns.local, step.local, 20, 700, right=True, y=paper.y + 6)
        paper.word(columns.utc, step.utc, 16, ink=INK2, right=True, y=paper.y + 9)
        paper.word(columns.charge, step.charge, 17, 600, right=True, y=paper.y + 8)
        paper.word(columns.name, leading(step.name), 18, 700, y=paper.y + 7)
        paper.word(columns.note, step.note, 16, ink=INK2, y=paper.y + 9)
        paper.box(QRectF(paper.width - 24, paper.y + 8, _SIDE, _SIDE))
        paper.skip(row)
        paper.rule(0, paper.width, 0.8, GREY)

    def _path_and_frames(self) -> None:
        paper, card = self._paper, self._card
        top, column = paper.y, 0.36 * paper.width
        paper.word(0, say("Path"), 18, 700)
        paper.skip(26)
        draw_path(paper, QRectF(0, paper.y, column - 24, 190), card)
        paper.skip(196)
        told = [f"{number}: {station.words}" for number, station in enumerate(card.stations, 1)]
        for line in told if len(told) <= _LISTED else ():
            paper.skip(paper.paragraph(0, column - 24, line, 14))
        left, paper.y = paper.y, top
        self._frame_row(column)
        middle = column + 0.5 * (paper.width - column)
        below = paper.y
        self._pairs(say("Moments"), card.moments, column, middle - 16)
        self._pairs(say("Air"), card.air, column, middle - 16, first_px=110)
        ends, paper.y = paper.y, below
        self._pairs(say("If late on the ground, press at"), card.late, middle, paper.width)
        paper.y = max(left, ends, paper.y)
        if len(told) > _LISTED:
            paper.skip(paper.paragraph(0, paper.width, ";  ".join(told), 13))
        paper.skip(10)

    def _frame_row(self, x: float) -> None:
        paper = self._paper
        numbers = ", ".join(str(number) for number, _ in self._frames)
        paper.word(
            x,
            say_count(
                "Predicted frame {numbers}",
                "Predicted frames {numbers}",
                len(self._frames),
                numbers=numbers,
            ),
            18,
            700,
        )
        paper.skip(26)
        gap = 6.0
        wide = (paper.width - x - gap * (_FRAMES - 1)) / _FRAMES
        image = self._frames[0][1]
        high = wide * image.height() / image.width()
        for place, (_, picture) in enumerate(self._frames):
            rect = QRectF(x + place * (wide + gap), paper.y, wide, high)
            paper.painter.drawImage(rect, picture)
        paper.skip(high + 8)

    def _pairs(
        self,
        title: str,
        pairs: tuple[tuple[str, str], ...],
        x: float,
        end: float,
        first_px: float = 60,
    ) -> None:
        paper = self._paper
        paper.word(x, title, 15, 700)
        paper.skip(22)
        for name, text in pairs:
            paper.word(x, name, 15, 600)
            paper.skip(paper.paragraph(x + first_px, end - x - first_px, text, 15, ink=INK2))
        paper.skip(6)

    def _cautions(self) -> None:
        paper, card = self._paper, self._card
        paper.rule(0, paper.width, 1.5)
        paper.skip(8)
        paper.word(0, say("Cautions"), 18, 700)
        paper.skip(26)
        for finding in card.cautions:
            mark = QRectF(2, paper.y + 2, 15, 15)
            draw_mark_anew(paper.painter, mark, finding.severity, THEMES["light"])
            weight = 600 if finding.severity == "stop" else 400
            paper.skip(paper.paragraph(28, paper.width - 28, finding.text, 15, weight))
            paper.skip(3)
        paper.skip(8)

    def _write_down(self) -> None:
        paper, card = self._paper, self._card
        paper.rule(0, paper.width, 1.5)
        paper.skip(8)
        paper.word(0, say("Write down"), 18, 700)
        paper.skip(26)
        dusk = card.timetable.seen.night.twilight == "dusk"
        named = (
            say("lamps on") if dusk else say("lamps off"),
            say("charge at first shutter"),
            say("at last frame"),
            say("on the ground"),
            say("wind felt"),
        )
        cell = paper.width / len(named)
        for place, words in enumerate(named):
            paper.word(place * cell, words, 14, ink=INK2)
        paper.skip(52)
        for place in range(len(named)):
            paper.rule(place * cell, (place + 1) * cell - 16, 1.0, GREY)
        paper.skip(12)

    def _foot(self) -> None:
        """At the bottom of the page where there is room."""
        paper, card = self._paper, self._card
        made = say("{program} field card, {made}", program=PROGRAM, made=card.made)
        room = paper.width - width_of(made, 14) - 30
        needed = 2 * 18.0
        paper.y = max(paper.y, self._room.height() - needed)
        paper.word(paper.width, made, 14, ink=INK2, right=True)
        paper.skip(paper.paragraph(0, room, card.light, 14, ink=INK2))
