"""The tone track: stops from mid-grey against the clock, and the takes that can be dragged."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.plots.plotkit import Band, Curve, Plot
from app.remember import Last
from app.sheet.clock import Clock
from app.sheet.ink import draw_head, draw_text, text_size
from app.sheet.labels import Box
from app.sheet.pictures import same
from app.sheet.scene import Scene
from app.sheet.toneground import (
    GRID_STOPS,
    HIGHEST_STOPS,
    LOWEST_STOPS,
    Ground,
    ground_pixmap,
    sigma_share,
    tone_y,
    with_evening,
)
from app.sheet.tonelabels import Reading, Word, axis_text, readings_at, words_of
from app.sheet.tonelayer import Laid, ToneLayer
from app.sheet.tonepicture import Line, Take, TonePainting, TonePicture, limits_of
from app.sheet.track import Track
from app.store import Store
from app.theme import Theme, faint, px, text_scale
from app.widgets.flags import DASHES
from core.language import say
from core.plan import SHOOT_NAMES, ShootName

LEAST_HEIGHT: Final = 180
PINNED_HEIGHT: Final = 90
_INKED = 2.6
_TAKE = 0.07

_Lines = tuple[list[Curve], list[Band]]


@dataclass(frozen=True)
class ToneShown:
    """Curves and ground."""

    tones: TonePicture
    ground: Ground


class ToneTrack(Track[ToneShown]):
    """The plot, a transparent layer of words over it, and the head in the gutter."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Tone"), parent)
        self._plot = Plot(self)
        self._plot.ratio_changed.connect(self.refresh)
        self._layer = ToneLayer(self)
        self._painting = TonePainting()
        self._lines: dict[ShootName, Last[_Lines]] = {name: Last() for name in SHOOT_NAMES}
        # Plot and words lie over it: painted as opaque, it and they are painted one by one.
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent, on=False)
        self._ground_still = QPixmap()
        self._ground_key: tuple[object, ...] = ()
        self._evening: tuple[Line, ...] = ()
        self.words: tuple[Word, ...] = ()
        self.readings: tuple[Reading, ...] = ()

    @property
    def clock(self) -> Clock | None:
        """The clock that it stands on."""
        return self._clock

    def picture_of(self, scene: Scene, clock: Clock) -> ToneShown | None:
        """Tones of the evening and of both takes, and what lies under them."""
        return ToneShown(
            self._painting.picture(scene.view, clock.axis),
            Ground(scene.shade, limits_of(scene.view.plan), scene.clock),
        )

    def description_of(self, picture: ToneShown | None) -> str:
        """The active take's tones at its press."""
        return picture.tones.description if picture is not None else ""

    def still_of(self, picture: ToneShown | None) -> object:
        """The gutter follows the limits alone."""
        return None if picture is None else picture.ground.limits

    def draw_still(self, painter: QPainter, clock: Clock) -> None:
        """Draw the gutter: head, axis figures, the bar of the keepable band."""
        theme, shown = self.theme, self._picture
        draw_head(painter, theme, px(7), say("Tone"), (say("stops from"), say("mid-grey")))
        if shown is None:
            _draw_empty(painter, theme, clock, self.height())
            return
        face = (12, 400)
        for stops in GRID_STOPS:
            text = axis_text(stops)
            width, height = text_size(text, face)
            y = tone_y(stops, self.height()) - height / 2.0
            draw_text(
                painter, Box(clock.left - width - px(8), y, width, height), text, face, theme.ink
            )
        limits = shown.ground.limits
        top, bottom = (
            tone_y(stops, self.height()) for stops in (limits.high_stops, limits.low_stops)
        )
        painter.fillRect(QRectF(clock.left - px(4), top, px(4), bottom - top), theme.ink)

    def refresh(self) -> None:
        """Draw gutter, ground and curves anew."""
        super().refresh()
        clock, shown = self._clock, self._picture
        visible = shown is not None and clock is not None
        self._plot.setVisible(visible)
        self._layer.setVisible(visible)
        if clock is None or shown is None:
            return
        self._plot.setGeometry(self.plot_rect(clock).toRect())
        self._layer.setGeometry(self.rect())
        self._show_ground(clock, shown)
        self._show_takes(shown.tones)
        self.moved_cursor()

    def moved_cursor(self) -> None:
        """Read the tones at the cursor and place the words anew."""
        clock, shown = self._clock, self._picture
        if clock is None or shown is None:
            return
        x = self._cursor_x()
        at = self._cursor_s if x is not None else None
        tones, limits = shown.tones, shown.ground.limits
        self.readings = readings_at(tones, at) if at is not None else ()
        self.words = words_of(tones, limits, clock, self.height(), at)
        self._layer.show_laid(
            Laid(clock, tones.takes, limits, self.words, self.readings, x, self.ground_colour)
        )

    def _show_ground(self, clock: Clock, shown: ToneShown) -> None:
        """Draw what lies still under a moving take, unless it is what is shown."""
        theme = self.theme
        paint = (theme.name, text_scale(), self.height(), self.devicePixelRatioF())
        key = (paint, clock, shown.ground)
        evening = shown.tones.evening
        if same((key, evening), (self._ground_key, self._evening)):
            return
        if not same(key, self._ground_key):
            self._ground_key = key
            self._plot.set_ranges(
                (clock.axis.first_s, clock.axis.last_s), (LOWEST_STOPS, HIGHEST_STOPS)
            )
            self._ground_still = ground_pixmap(
                self, theme, clock, shown.ground, float(self.height())
            )
        self._evening = evening
        ground = with_evening(self._ground_still, theme, clock, evening, self.height())
        self._plot.set_ground(ground)

    def _show_takes(self, tones: TonePicture) -> None:
        look = self.theme.name, text_scale()
        drawn = [
            self._lines[take.name].of((take,), look, partial(_lines_of, take, self.theme))
            for take in tones.takes
        ]
        curves = [curve for those, _ in drawn for curve in those]
        self._plot.set_lines(curves, [band for _, those in drawn for band in those])

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out plot and words anew."""
        super().resizeEvent(event)
        self.refresh()


def _lines_of(take: Take, theme: Theme) -> _Lines:
    """The curves of a take, and the bands behind them: the take itself and its uncertainty."""
    colour, ends = theme.shoot(take.name), np.array([take.first_s, take.last_s])
    low, high = np.full(2, LOWEST_STOPS), np.full(2, HIGHEST_STOPS)
    curves, bands = [], [Band(ends, low, high, faint(colour, _TAKE))]
    dashes = DASHES if take.name == "B" else ()
    for line in take.lines:
        x, y, sigma = line.axis_s, line.stops, line.sigma_stops
        bands.append(Band(x, y - sigma, y + sigma, faint(colour, sigma_share(theme))))
        curves.append(Curve(x, y, colour, _INKED * text_scale(), dashes))
    return curves, bands


def _draw_empty(painter: QPainter, theme: Theme, clock: Clock, height: float) -> None:
    """Draw the lines of an empty plot."""
    for stops in GRID_STOPS:
        y = round(tone_y(stops, height))
        painter.fillRect(QRectF(clock.left, y, clock.width, max(1, px(1))), theme.rule)
