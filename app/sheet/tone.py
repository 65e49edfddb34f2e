"""The tone track: stops from mid-grey against the clock, and the takes that can be dragged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.plots.plotkit import Band, Curve, Plot
from app.sheet.clock import Clock
from app.sheet.ink import (
    draw_dot,
    draw_glyph,
    draw_head,
    draw_text,
    draw_vertical,
    edge_pen,
    mixed,
    text_size,
)
from app.sheet.labels import Box
from app.sheet.pictures import same
from app.sheet.scene import Scene
from app.sheet.toneground import (
    GRID_STOPS,
    HIGHEST_STOPS,
    LOWEST_STOPS,
    Ground,
    ground_pixmap,
    tone_y,
)
from app.sheet.tonelabels import (
    GLYPH_ROOM,
    MARK_ROOM,
    Reading,
    Word,
    axis_text,
    bar_of,
    readings_at,
    type_of,
    words_of,
)
from app.sheet.tonepicture import Line, Take, TonePicture, limits_of, tone_picture
from app.sheet.track import Track
from app.store import Store
from app.theme import Theme, faint, font, px, text_scale, theme_of
from app.widgets.flags import DASHES, draw_shape
from app.widgets.marks import draw_mark, draw_part
from core.plan import ShootName

LEAST_HEIGHT: Final = 180
PINNED_HEIGHT: Final = 140
_THIN, _INKED = 1.25, 2.6
_TAKE, _SIGMA, _SIGMA_DARK = 0.07, 0.16, 0.22
_GLYPH = 9.0
_GRIP_WIDTH, _GRIP_HEIGHT, _GRIP_RISE = 7.0, 18.0, 12.0


@dataclass(frozen=True)
class ToneShown:
    """Curves and ground."""

    tones: TonePicture
    ground: Ground


class ToneTrack(Track[ToneShown]):
    """The plot, a transparent layer of words over it, and the head in the gutter."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, "Tone", parent)
        self._plot = Plot(self)
        self._plot.ratio_changed.connect(self.refresh)
        self._layer = _Layer(self)
        self._ground_key: tuple[object, ...] = ()
        self.words: tuple[Word, ...] = ()
        self.readings: tuple[Reading, ...] = ()

    @property
    def shown(self) -> ToneShown | None:
        """What is on the plot."""
        return self._picture

    @property
    def clock(self) -> Clock | None:
        """The clock that it stands on."""
        return self._clock

    def picture_of(self, scene: Scene, clock: Clock) -> ToneShown | None:
        """Tones of the evening and of both takes, and what lies under them."""
        return ToneShown(
            tone_picture(scene.view, clock.axis),
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
        theme, shown = theme_of(self), self._picture
        draw_head(painter, theme, px(7), "Tone", ("stops from", "mid-grey"))
        if shown is None:
            _draw_empty(painter, theme, clock, self.height())
            return
        type_ = font(12)
        for stops in GRID_STOPS:
            text = axis_text(stops)
            width, height = text_size(text, type_)
            y = tone_y(stops, self.height()) - height / 2.0
            draw_text(
                painter, Box(clock.left - width - px(8), y, width, height), text, type_, theme.ink
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
        rect = self.plot_rect(clock).toRect()
        self._plot.setGeometry(rect)
        self._layer.setGeometry(self.rect())
        self._show_ground(clock, shown)
        self._show_lines(shown.tones)
        self.moved_cursor()

    def moved_cursor(self) -> None:
        """Read the tones at the cursor and place the words anew."""
        clock, shown = self._clock, self._picture
        if clock is None or shown is None:
            return
        at = self._cursor_s if self._cursor_x() is not None else None
        self.readings = readings_at(shown.tones, at) if at is not None else ()
        self.words = words_of(shown.tones, shown.ground.limits, clock, self.height(), at)
        self._layer.update()

    def cursor_x(self) -> float | None:
        """Where the cursor stands, if it is on the clock."""
        return self._cursor_x()

    def _show_ground(self, clock: Clock, shown: ToneShown) -> None:
        theme = theme_of(self)
        paint = (theme.name, text_scale(), self.height(), self.devicePixelRatioF())
        key = (paint, clock, shown.ground)
        if same(key, self._ground_key):
            return
        self._ground_key = key
        self._plot.set_ranges(
            (clock.axis.first_s, clock.axis.last_s), (LOWEST_STOPS, HIGHEST_STOPS)
        )
        self._plot.set_ground(ground_pixmap(self, theme, clock, shown.ground))

    def _show_lines(self, tones: TonePicture) -> None:
        theme, scale = theme_of(self), text_scale()
        sigma = _SIGMA if theme.name == "light" else _SIGMA_DARK
        curves = [
            Curve(line.axis_s, line.stops, theme.ink2, _THIN * scale) for line in tones.evening
        ]
        bands = [_band(line, faint(theme.ink3, sigma)) for line in tones.evening]
        for take in tones.takes:
            colour = theme.shoot(take.name)
            ends = np.array([take.first_s, take.last_s])
            low, high = np.full(2, LOWEST_STOPS), np.full(2, HIGHEST_STOPS)
            bands.append(Band(ends, low, high, faint(colour, _TAKE)))
            dashes = DASHES if take.name == "B" else ()
            for line in take.lines:
                bands.append(_band(line, faint(colour, sigma)))
                curves.append(Curve(line.axis_s, line.stops, colour, _INKED * scale, dashes))
        self._plot.set_lines(curves, bands)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out plot and words anew."""
        super().resizeEvent(event)
        self.refresh()


def _band(line: Line, colour: QColor) -> Band:
    return Band(line.axis_s, line.stops - line.sigma_stops, line.stops + line.sigma_stops, colour)


def _draw_empty(painter: QPainter, theme: Theme, clock: Clock, height: float) -> None:
    """Draw the lines of an empty plot."""
    for stops in GRID_STOPS:
        y = round(tone_y(stops, height))
        painter.fillRect(QRectF(clock.left, y, clock.width, max(1, px(1))), theme.rule)


class _Layer(QWidget):
    """Words, flags, grips and verticals over the plot; transparent to the mouse."""

    def __init__(self, track: ToneTrack) -> None:
        super().__init__(track)
        self._track = track
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint what the track has placed."""
        track, clock, shown = self._track, self._track.clock, self._track.shown
        if clock is None or shown is None:
            return
        painter = QPainter(self)
        theme = theme_of(self)
        painter.setClipRect(track.plot_rect(clock).adjusted(-px(1), 0.0, px(1), 0.0))
        for take in shown.tones.takes:
            _draw_take(painter, theme, clock, take, self.height())
        x = track.cursor_x()
        if x is not None:
            draw_vertical(painter, theme.ink, x, 0.0, self.height())
            for reading in track.readings:
                draw_dot(painter, x, tone_y(reading.stops, self.height()), theme.ink)
        for word in track.words:
            self._draw_word(painter, theme, word)

    def _draw_word(self, painter: QPainter, theme: Theme, word: Word) -> None:
        type_, box = type_of(word.kind), word.box
        if word.kind == "flag":
            _draw_start_flag(painter, theme, word)
            return
        chip = self._ground(theme, box) if word.chip or word.kind != "part" else None
        colour = {"failing": theme.alarm, "limit": theme.ink2}.get(word.kind, theme.ink)
        room = {"failing": px(MARK_ROOM), "part": px(GLYPH_ROOM)}.get(word.kind, 0)
        text = Box(box.x + room, box.y, box.width - room, box.height)
        if room and chip is not None:
            painter.fillRect(QRectF(*box), faint(chip, 0.95))
        draw_text(painter, text, word.text, type_, colour, None if room else chip)
        middle = box.y + box.height / 2.0
        if word.kind == "failing":
            side = float(px(14))
            draw_mark(painter, QRectF(box.x + 2.0, middle - side / 2.0, side, side), "stop", theme)
        elif word.kind == "part" and word.of in ("street", "land", "sky"):
            centre = QPointF(box.x + px(8), middle)
            draw_part(painter, centre, px(_GLYPH), word.of, theme.ink)

    def _ground(self, theme: Theme, box: Box) -> QColor:
        """The colour under a word, with the keepable band where it lies on it."""
        ground = self._track.ground_colour(box.x)
        shown = self._track.shown
        if shown is None:
            return ground
        limits, y = shown.ground.limits, box.y + box.height / 2.0
        low, high = (
            tone_y(stops, self.height()) for stops in (limits.low_stops, limits.high_stops)
        )
        if not high <= y <= low:
            return ground
        solid = QColor(theme.band.red(), theme.band.green(), theme.band.blue())
        return mixed(ground, solid, theme.band.alphaF())


def _draw_take(
    painter: QPainter, theme: Theme, clock: Clock, take: Take, height: float
) -> None:
    """Draw a take's edges, grips, the bar where it fails and the glyphs of its parts."""
    width = float(max(2, px(2)))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(edge_pen(theme, take.name, width))
    edges = [round(clock.x(one)) for one in (take.first_s, take.last_s)]
    painter.drawLines([QLineF(x, 0.0, x, height) for x in edges])
    for bar in bar_of(take, clock):
        painter.fillRect(QRectF(*bar), theme.alarm)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for edge_x in edges:
        _draw_grip(painter, theme, take, edge_x, height)
    for line in take.lines:
        for at in (end for stretch in line.stretches() for end in stretch):
            x, y = clock.x(float(line.axis_s[at])), tone_y(float(line.stops[at]), height)
            draw_glyph(painter, x, y, line.part, theme.shoot(take.name), theme.shade0)


def _draw_grip(painter: QPainter, theme: Theme, take: Take, x: float, height: float) -> None:
    wide, tall = float(px(_GRIP_WIDTH)), float(px(_GRIP_HEIGHT))
    rect = QRectF(x - wide / 2.0, height - px(_GRIP_RISE) - tall, wide, tall)
    painter.setPen(QPen(theme.shoot(take.name), 1.5 * text_scale()))
    painter.setBrush(theme.shade0)
    if take.name == "A":
        painter.drawRect(rect)
    else:
        painter.drawRoundedRect(rect, wide / 2.0, wide / 2.0)


def _draw_start_flag(painter: QPainter, theme: Theme, word: Word) -> None:
    name: ShootName = "A" if word.of == "A" else "B"
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.shoot(name))
    rect = QRectF(*word.box)
    draw_shape(painter, rect, name)
    painter.setFont(type_of("flag"))
    painter.setPen(theme.on_shoot(name))
    painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, word.text)
