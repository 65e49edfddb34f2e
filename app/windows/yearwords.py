"""The words over the clock of many nights, placed by rank beside the chosen night's."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.sheet.ink import draw_text, text_size
from app.sheet.labels import Box
from app.shown.nights import Hatched, Ribbon, YearPicture, change_words
from app.theme import Theme, px
from app.widgets.stamp import Face
from app.windows.yeartracks import LABEL, SMALL, STRONG, across_of, y_of
from core.language import say


class YearWords:
    """Words over the clock, by rank; one that would lie over another, or finds no room, goes."""

    def __init__(
        self,
        painter: QPainter,
        theme: Theme,
        clock: QRectF,
        picture: YearPicture,
        taken: Sequence[Box],
    ) -> None:
        self._painter, self._theme, self._clock, self._picture = painter, theme, clock, picture
        self._step = clock.width() / len(picture.seen)
        self._taken = list(taken)

    def paint(self) -> None:
        """Write what the clocks do, why no start holds, and the names of the lines."""
        clock, picture = self._clock, self._picture
        for change in picture.changes:
            x = clock.left() + change.index * self._step
            self._say(change_words(change), SMALL, x + px(3), clock.bottom() - px(18))
        for hatched in sorted(picture.hatched, key=_length, reverse=True):
            self._say_why(hatched)
        # Good starts lie on the dark side of the event.
        dusk = picture.seen[0].night.twilight == "dusk"
        self._name(say("good starts"), picture.ribbons, STRONG, above=dusk)
        self._name(picture.event_word, picture.events, LABEL, above=not dusk)

    def _say_why(self, hatched: Hatched) -> None:
        area = across_of(self._clock, self._step, hatched)
        for words in (hatched.words, say("no start")):
            width, height = text_size(words, STRONG)
            if width > area.width():
                continue
            for share in (0.72, 0.5, 0.3, 0.85):
                y = area.top() + share * area.height() - height / 2.0
                if self._say(words, STRONG, area.center().x() - width / 2.0, y):
                    return

    def _name(self, words: str, lines: Sequence[Ribbon], face: Face, *, above: bool) -> None:
        """Name a line where it runs, over it or under it."""
        width, height = text_size(words, face)
        reach = int(width / self._step)
        for line in sorted(lines, key=lambda one: -len(one.low_h)):
            near = line.high_h if above else line.low_h
            for share in (0.3, 0.5, 0.15, 0.7):
                place = int(share * (len(near) - 1))
                x = self._clock.left() + (line.first + place + 0.5) * self._step - width / 2.0
                beside = near[max(0, place - reach) : place + reach + 1]
                ys = [y_of(self._clock, self._picture.tones.clock_h, hour) for hour in beside]
                y = min(ys) - height - px(6) if above else max(ys) + px(6)
                if self._say(words, face, max(x, self._clock.left() + px(2)), y):
                    return

    def _say(self, words: str, face: Face, x: float, y: float) -> bool:
        """Write a word on a chip of the ground, if it has room."""
        box = Box(x, y, *text_size(words, face))
        room = box_of(self._clock)
        if not box.inside(room) or any(box.overlaps(one, 2.0) for one in self._taken):
            return False
        self._taken.append(box)
        draw_text(self._painter, box, words, face, self._theme.ink, self._theme.sheet)
        return True


def box_of(rect: QRectF) -> Box:
    """A rectangle as a box for placing words."""
    return Box(rect.x(), rect.y(), rect.width(), rect.height())


def _length(hatched: Hatched) -> int:
    return hatched.last - hatched.first
