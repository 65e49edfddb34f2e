"""The slack track: how far every start of the night is from its nearest limit."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QWidget

from app.plots.plotkit import polygon
from app.sheet.clock import Clock
from app.sheet.hatch import draw_hatch
from app.sheet.ink import draw_head, draw_text, text_size
from app.sheet.labels import FLAG, LIMIT, VALUE, Box, Placed, Wish, place_labels
from app.sheet.pictures import Edges
from app.sheet.scene import Scene
from app.sheet.slackpicture import SlackPicture, slack_picture
from app.sheet.track import Track
from app.store import Store
from app.theme import px, text_scale
from core.language import say

HEIGHT: Final = 48
# The line of no slack, the height of the area above it and the depth of the hatch below.
_LINE, _ABOVE, _BELOW = 31.0, 23.5, 14.0
_GAP = 6.0
# Of the span, the sure starts, the chosen start, and what fails on either side.
_RANKS = (FLAG, FLAG, VALUE, LIMIT, LIMIT)


class SlackTrack(Track[SlackPicture]):
    """Above the line the slack of every start, hatched below it where a limit is broken."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Start slack"), parent)

    def picture_of(self, scene: Scene, clock: Clock) -> SlackPicture | None:
        """The slack of the active shoot's starts."""
        return slack_picture(scene.view, clock.axis)

    def description_of(self, picture: SlackPicture | None) -> str:
        """The span and the chosen start's own slack."""
        return picture.description if picture is not None else ""

    def takes_in_reach(self) -> tuple[Edges, ...]:
        """Only the active take: the area is that of its starts."""
        return self.edges[-1:]

    def still_of(self, picture: SlackPicture | None) -> object:
        """All but the chosen start: the slack of the others does not depend on it."""
        return replace(picture, start_s=0.0, start_words=(), description="") if picture else None

    def draw_still(self, painter: QPainter, clock: Clock) -> None:
        """Draw head, area, hatch and span."""
        theme, picture = self.theme, self._picture
        draw_head(painter, theme, px(8), say("Start slack"), (say("stops to a limit"),))
        line = float(px(_LINE))
        painter.save()
        painter.setClipRect(self.plot_rect(clock))
        if picture is not None:
            self._draw_area(painter, clock, picture, line)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.fillRect(QRectF(clock.left, line, clock.width, max(1, px(1))), theme.edge)
        if picture is not None:
            self._draw_span(painter, clock, picture, line)
        painter.restore()

    def draw_moving(self, painter: QPainter, clock: Clock) -> None:
        """Draw the takes' edges, the words and the chosen start."""
        painter.setClipRect(self.plot_rect(clock))
        self.draw_edges(painter, clock)
        if self._picture is not None:
            self._draw_words(painter, clock, self._picture, px(_LINE))
            self._draw_start(painter, clock, self._picture, px(_LINE))

    def _draw_area(
        self, painter: QPainter, clock: Clock, picture: SlackPicture, line: float
    ) -> None:
        if not picture.axis_s.size:
            return
        theme = self.theme
        x = clock.x(picture.axis_s)
        stop = px(_ABOVE) / picture.scale_stops
        above = np.clip(line - picture.slack_stops * stop, line - px(_ABOVE), line)
        # Where nothing holds, the whole shortage of the nearest start is still to be seen.
        stop = min(stop, px(_BELOW) / (picture.lack_stops + 1.0))
        below = np.clip(line - picture.slack_stops * stop, line, line + px(_BELOW))
        draw_hatch(painter, _path(x, below, line), theme.ink3)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.shoot(picture.name))
        painter.drawPath(_path(x, above, line))
        painter.setPen(QPen(theme.ink, 1.3 * text_scale()))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if picture.span_s is None:
            painter.drawPolyline(polygon(x, below))
        else:
            self._draw_chance(painter, clock, picture, line)

    def _draw_chance(
        self, painter: QPainter, clock: Clock, picture: SlackPicture, line: float
    ) -> None:
        """Inside the span the chance, 0 on the line and 1 at the top of the strokes."""
        first_s, last_s = picture.span_s or (0.0, 0.0)
        inside = (picture.axis_s >= first_s) & (picture.axis_s <= last_s)
        y = line - px(_ABOVE) * picture.chance[inside]
        painter.drawPolyline(polygon(clock.x(picture.axis_s[inside]), y))

    def _draw_span(
        self, painter: QPainter, clock: Clock, picture: SlackPicture, line: float
    ) -> None:
        if picture.span_s is None:
            return
        theme = self.theme
        width = float(max(2, px(2)))
        for axis_s in picture.span_s:
            top = line - px(_ABOVE)
            rect = QRectF(round(clock.x(axis_s)) - width / 2.0, top, width, px(_ABOVE) + px(3))
            painter.fillRect(rect, theme.ink)
        if picture.sure_s is not None:
            left, right = (clock.x(axis_s) for axis_s in picture.sure_s)
            painter.fillRect(QRectF(left, line + px(2), right - left, px(3)), theme.ink)

    def _draw_start(
        self, painter: QPainter, clock: Clock, picture: SlackPicture, line: float
    ) -> None:
        theme = self.theme
        side = 9.0 * text_scale()
        rect = QRectF(0.0, 0.0, side, side)
        rect.moveCenter(QPointF(clock.x(picture.start_s), line + px(0.5)))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.shade0, 1.6 * text_scale()))
        painter.setBrush(theme.shoot(picture.name))
        if picture.name == "A":
            painter.drawRect(rect)
        else:
            painter.drawEllipse(rect)

    def _draw_words(
        self, painter: QPainter, clock: Clock, picture: SlackPicture, line: float
    ) -> None:
        theme = self.theme
        for text, weight, size, place in self._placed(clock, picture, line):
            colour = theme.ink if weight == 600 else theme.ink2
            chip = self.ground_colour(place.box.x)
            draw_text(painter, place.box, text, (size, weight), colour, chip)

    def _placed(
        self, clock: Clock, picture: SlackPicture, line: float
    ) -> list[tuple[str, int, int, Placed]]:
        """The words that found room; those of the span and of the start have a shorter form."""
        words = {
            "good": (picture.good_words, 600, 12),
            "sure": ((picture.sure_words,), 600, 12),
            "start": (picture.start_words, 400, 12),
            "earlier": ((picture.earlier_words,), 400, 11),
            "later": ((picture.later_words,), 400, 11),
        }
        bounds = Box(clock.left, 0.0, clock.width, float(self.height()))
        found: list[tuple[str, int, int, Placed]] = []
        taken = _occupied(clock, picture, line)
        for (key, (texts, weight, size)), rank in zip(words.items(), _RANKS, strict=True):
            for text in filter(None, texts):
                box_size = text_size(text, (size, weight))
                places = self._places(key, clock, picture, box_size, line)
                if key == "start" and len(taken) > 1:
                    # Behind the words placed last, in one line with them.
                    last = taken[-1]
                    places = (Box(last.x + last.width + px(_GAP), last.y, *box_size), *places)
                placed = place_labels([Wish(key, rank, places)], bounds, taken=taken)
                if placed:
                    taken.append(placed[key].box)
                    found.append((text, weight, size, placed[key]))
                    break
        return found

    def _places(
        self,
        key: str,
        clock: Clock,
        picture: SlackPicture,
        size: tuple[float, float],
        line: float,
    ) -> tuple[Box, ...]:
        """Above the line beside the span, or beneath it; where a side is full, the other one."""
        width, height = size
        above, below = line - height - px(2), line + px(2)
        first, last = _ends(clock, picture)
        left, right = first - width - px(_GAP), last + px(_GAP)
        if key in {"earlier", "later"}:
            x = left if key == "earlier" else right
            return (Box(x, below, width, height),)
        row = (left, right) if key == "good" else (right, left)
        pushed = min(max((first + last - width) / 2.0, clock.left), clock.right - width)
        beside = tuple(Box(x, above, width, height) for x in row)
        ends = (
            Box(clock.right - width - px(4), above, width, height),
            Box(clock.left + px(4), above, width, height),
        )
        if picture.span_s is None and key == "good":
            return (Box(pushed, above, width, height), *beside, *ends)
        return (*beside, *(ends if key == "start" else ends[::-1]))


def _ends(clock: Clock, picture: SlackPicture) -> tuple[float, float]:
    """Where the span ends, held to the clock; the nearest start where there is none."""
    ends = picture.span_s or (picture.nearest_s, picture.nearest_s)
    first, last = (min(max(clock.x(one), clock.left), clock.right) for one in ends)
    return first, last


def _occupied(clock: Clock, picture: SlackPicture, line: float) -> list[Box]:
    """Where no word may stand: the area inside the span."""
    if picture.span_s is None:
        return []
    first, last = _ends(clock, picture)
    top = line - px(_ABOVE)
    return [Box(first - 1.0, top, last - first + 2.0, line - top)]


def _path(x: np.ndarray, y: np.ndarray, line: float) -> QPainterPath:
    """The area between a curve and the line."""
    path = QPainterPath()
    ends = np.array([x[-1], x[0]])
    path.addPolygon(polygon(np.concatenate((x, ends)), np.concatenate((y, [line, line]))))
    path.closeSubpath()
    return path
