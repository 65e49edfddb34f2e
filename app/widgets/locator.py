"""A small map that says where in the world a place lies: coastline, cross, scale bar."""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QByteArray, QDataStream, QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.resources import asset
from app.style import draw_outline
from app.theme import Theme, font, px, text_scale, theme_of
from core.language import say
from core.manner import manner
from core.units import measured_in
from core.words import number_text

FloatArray = NDArray[np.float64]

_HEIGHT_PX, _LEAST_HEIGHT_PX = 104.0, 40.0
#: Kilometres from the top of the map to its bottom.
SPAN_KM = 800.0
#: A minute of arc is a nautical mile, 1.852 km.
KM_PER_DEGREE = 111.12
# Towards a pole the map would be stretched without end.
_LEAST_COSINE = 0.05
_HUNDREDTHS = 100.0


@dataclass(frozen=True)
class Coast:
    """The closed outlines of land, degrees east and north, with the box that each lies in.

    `low` and `high` are the corners of the boxes, shape (outlines, 2).
    """

    outlines: tuple[FloatArray, ...]
    low: FloatArray
    high: FloatArray


@lru_cache(maxsize=1)
def coast() -> Coast:
    """The outlines of the world's land, at 1 : 50 million, none with a step at 180 degrees."""
    with np.load(asset("coastline/world_land_50m.npz")) as file:
        points, offsets = file["xy"] / _HUNDREDTHS, file["off"]
    first, counts = offsets[:-1], np.diff(offsets)
    east = np.unwrap(points[:, 0], period=360.0)
    # Each begins where it did: what was turned before it is not its own.
    points[:, 0] = east - np.repeat(np.round((east - points[:, 0])[first], 6), counts)
    low, high = (way.reduceat(points, first, axis=0) for way in (np.minimum, np.maximum))
    outlines = np.split(points, first[1:])
    for place in np.flatnonzero(np.abs((points[offsets[1:] - 1] - points[first])[:, 0]) > 180.0):
        outlines[place] = _closed_at_pole(outlines[place])
        low[place] = outlines[place].min(axis=0)
        high[place] = outlines[place].max(axis=0)
    flat = low[:, 1] >= high[:, 1]
    kept = tuple(one for one, gone in zip(outlines, flat, strict=True) if not gone)
    return Coast(kept, low[~flat], high[~flat])


def _closed_at_pole(points: FloatArray) -> FloatArray:
    """An outline that goes round the world, closed at its pole."""
    (first, north), last = points[0], points[-1, 0]
    pole = math.copysign(90.0, north)
    return np.vstack((points, [(last, pole), (first, pole)]))


@dataclass(frozen=True)
class View:
    """An equirectangular map that is true at its middle, the place."""

    latitude_deg: float
    longitude_deg: float
    width: float
    height: float

    @property
    def pixels_per_km(self) -> float:
        """The scale at the place."""
        return self.height / SPAN_KM

    def _pixels_per_degree(self) -> tuple[float, float]:
        north = KM_PER_DEGREE * self.pixels_per_km
        return north * max(math.cos(math.radians(self.latitude_deg)), _LEAST_COSINE), north

    def xy(self, east_north_deg: FloatArray) -> FloatArray:
        """Pixels from the top left of points in degrees east and north, shape (n, 2)."""
        across, up = self._pixels_per_degree()
        middle = np.array([self.longitude_deg, self.latitude_deg])
        half = np.array([self.width, self.height]) / 2.0
        moved: FloatArray = half + (east_north_deg - middle) * np.array([across, -up])
        return moved

    def shown(self, land: Coast, turn_deg: float) -> list[FloatArray]:
        """The outlines that may be seen when they are moved round the world by a turn."""
        across, up = self._pixels_per_degree()
        half = np.array([self.width / across, self.height / up]) / 2.0
        place = np.array([self.longitude_deg - turn_deg, self.latitude_deg])
        away = np.abs((land.low + land.high) / 2.0 - place)
        near = (away <= (land.high - land.low) / 2.0 + half).all(axis=1)
        return [land.outlines[k] for k in np.flatnonzero(near)]


def scale_bar(px_per_unit: float, most_px: float) -> float:
    """The longest of 1, 2, 3, 5 times a power of ten units that fits."""
    most = most_px / px_per_unit
    power = 10.0 ** math.floor(math.log10(most))
    return max(power * first for first in (1.0, 2.0, 3.0, 5.0) if power * first <= most)


def draw_map(painter: QPainter, view: View, theme: Theme) -> None:
    """Paint sea, land, the cross at the place and the scale bar."""
    whole = QRectF(0.0, 0.0, view.width, view.height)
    painter.fillRect(whole, theme.shade1)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setClipRect(whole)
    land = QPainterPath()
    for turn in (-360.0, 0.0, 360.0):
        for outline in view.shown(coast(), turn):
            points = view.xy(outline + np.array([turn, 0.0]))
            land.addPolygon(_polygon(points))
    painter.setPen(QPen(theme.edge, 0.9 * text_scale()))
    painter.setBrush(theme.field)
    painter.drawPath(land)
    _draw_cross(painter, whole.center(), theme)
    _draw_scale(painter, view, theme)


def _polygon(points: FloatArray) -> QPolygonF:
    """The points, shape (n, 2), as Qt streams them: far faster than one by one."""
    content = struct.pack(">I", len(points)) + points.astype(">f8").tobytes()
    polygon = QPolygonF()
    QDataStream(QByteArray(content)) >> polygon
    return polygon


def _draw_cross(painter: QPainter, at: QPointF, theme: Theme) -> None:
    scale = text_scale()
    path = QPainterPath()
    path.addEllipse(at, 5.0 * scale, 5.0 * scale)
    for dx, dy in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
        path.moveTo(at.x() + 5.0 * scale * dx, at.y() + 5.0 * scale * dy)
        path.lineTo(at.x() + 9.0 * scale * dx, at.y() + 9.0 * scale * dy)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.field, 4.0 * scale))
    painter.drawPath(path)
    painter.setPen(QPen(theme.ink, 1.8 * scale))
    painter.drawPath(path)


def _draw_scale(painter: QPainter, view: View, theme: Theme) -> None:
    unit = measured_in("_km")
    px_per_unit = view.pixels_per_km * unit.per
    bar = scale_bar(px_per_unit, view.width * 0.25)
    length = round(bar * px_per_unit)
    text = f"{number_text(bar)} {unit.symbol}"
    painter.setFont(font(11))
    wide = painter.fontMetrics().horizontalAdvance(text)
    left, base = px(5), round(view.height) - px(5)
    chip = QRectF(0.0, base - px(22), left + max(length, wide) + px(5), px(27))
    painter.fillRect(chip, theme.sheet)
    painter.setPen(theme.ink)
    painter.drawText(QPointF(left, base - px(1)), text)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    line = max(1, px(1))
    top = base - px(15)
    painter.fillRect(left, top, length, line, theme.ink)
    for x in (left, left + length - line):
        painter.fillRect(x, top - px(3), line, px(6) + line, theme.ink)


class Locator(QWidget):
    """The map as a picture, drawn once for a place, size, theme and pixel ratio."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._place: tuple[float, float] | None = None
        self._picture: QPixmap | None = None
        self._drawn: tuple[object, ...] = ()
        self.setAccessibleName(say("Map"))
        # In a low column it gives up height before the last rows go under the fold.
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)

    def show_place(self, latitude_deg: float, longitude_deg: float) -> None:
        """Turn the map to a place."""
        if (latitude_deg, longitude_deg) != self._place:
            self._place = (latitude_deg, longitude_deg)
            self.update()

    def sizeHint(self) -> QSize:
        """104 px high."""
        return QSize(px(150), px(_HEIGHT_PX))

    def minimumSizeHint(self) -> QSize:
        """Still high enough for the cross and the scale bar."""
        return QSize(px(60), px(_LEAST_HEIGHT_PX))

    def changeEvent(self, event: QEvent) -> None:
        """Draw anew in another theme."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Show the picture, or an empty frame while there is no place."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            if self._place is None:
                painter.fillRect(self.rect(), theme.shade1)
            else:
                painter.drawPixmap(0, 0, self._current(self._place, theme))
            draw_outline(painter, QRectF(self.rect()), QPen(theme.edge, max(1, px(1))))

    def _current(self, place: tuple[float, float], theme: Theme) -> QPixmap:
        ratio = self.devicePixelRatioF()
        key = (place, self.size().toTuple(), theme.name, ratio, text_scale(), manner())
        if self._picture is None or key != self._drawn:
            picture = QPixmap(self.size() * ratio)
            picture.setDevicePixelRatio(ratio)
            with QPainter(picture) as painter:
                draw_map(painter, View(*place, self.width(), self.height()), theme)
            self._picture, self._drawn = picture, key
        return self._picture
