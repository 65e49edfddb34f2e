"""The plots of the program: a lean face for pyqtgraph, which only this module imports.

Ranges are fixed, the grid and all that lies still are one picture below the curves, and a
band is one polygon. pyqtgraph's pens are counted in device pixels: widths are multiplied
by the pixel ratio of the screen, so that a line weighs the same on every one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from pyqtgraph.functions import arrayToQPolygonF
from PySide6.QtCore import QEvent, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QFrame, QStyleOptionGraphicsItem, QWidget

from core.exposure import FloatArray
from core.runs import runs_of


@dataclass(frozen=True)
class Curve:
    """A line of the plot, parted where it is NaN; `width` is in logical pixels."""

    x: FloatArray
    y: FloatArray
    colour: QColor
    width: float
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Band:
    """A flat band round a line, without outline; parted where it is NaN."""

    x: FloatArray
    low: FloatArray
    high: FloatArray
    colour: QColor


class _Lines(pg.GraphicsObject):
    """All curves and bands in one item that fills the view: nothing is laid out under a hand."""

    def __init__(self) -> None:
        super().__init__()
        self._bounds = QRectF()
        self._points: list[tuple[Curve | Band, list[QPolygonF]]] = []
        self._bands: list[tuple[QColor, list[QPolygonF]]] = []
        self._curves: list[tuple[QPen, list[QPolygonF]]] = []

    def show_bounds(self, bounds: QRectF) -> None:
        """Fill another stretch of the axes."""
        self.prepareGeometryChange()
        self._bounds = bounds

    def show_lines(self, curves: Sequence[tuple[QPen, Curve]], bands: Sequence[Band]) -> None:
        """Take other curves and bands."""
        # One that is the same object is the same line: its points are at hand.
        known = {id(one): points for one, points in self._points}
        wanted: list[Curve | Band] = [*bands, *(curve for _, curve in curves)]
        self._points = [(one, known.get(id(one)) or _points(one)) for one in wanted]
        points = [points for _, points in self._points]
        self._bands = [(b.colour, one) for b, one in zip(bands, points, strict=False)]
        pens = (pen for pen, _ in curves)
        self._curves = list(zip(pens, points[len(bands) :], strict=True))
        self.update()

    def boundingRect(self) -> QRectF:
        """The stretch of the axes that is seen."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        _option: QStyleOptionGraphicsItem,
        _widget: QWidget | None = None,
    ) -> None:
        """Fill the bands, aliased, then draw the curves."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(Qt.PenStyle.NoPen)
        for colour, outlines in self._bands:
            painter.setBrush(colour)
            for outline in outlines:
                painter.drawPolygon(outline)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        for pen, lines in self._curves:
            painter.setPen(pen)
            for line in lines:
                painter.drawPolyline(line)


def polygon(x: FloatArray, y: FloatArray) -> QPolygonF:
    """The points of a line, much faster than one by one; a line of none is empty."""
    if not len(x):
        return QPolygonF()  # pyqtgraph writes into an array that it cannot make
    points: QPolygonF = arrayToQPolygonF(x, y)
    return points


def _points(one: Curve | Band) -> list[QPolygonF]:
    """A curve's points, or a band's outline, for each stretch without NaN."""
    if isinstance(one, Curve):
        return [polygon(one.x[run], one.y[run]) for run in runs_of(np.isfinite(one.y))]
    return [
        polygon(
            np.concatenate((one.x[run], one.x[run][::-1])),
            np.concatenate((one.high[run], one.low[run][::-1])),
        )
        for run in runs_of(np.isfinite(one.low))
    ]


class Plot(pg.GraphicsView):
    """Curves and bands over a picture; what is painted above them belongs to its parent.

    The plot fills the whole widget, takes neither focus nor mouse, and its ranges are what
    `set_ranges` says.

    Signals
    -------
    ratio_changed
        The widget has come to a screen of another pixel ratio: its ground is of the old one.
    """

    ratio_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, useOpenGL=False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        # The ground is a picture already; a copy of it would only grow stale.
        self.setCacheMode(pg.GraphicsView.CacheModeFlag.CacheNone)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        for part in (self, self.viewport()):
            part.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("")
        self._ground = QPixmap()
        self._view = pg.ViewBox(enableMouse=False, enableMenu=False, defaultPadding=0.0)
        self._view.disableAutoRange()
        self.setCentralItem(self._view)
        self._lines = _Lines()
        self._view.addItem(self._lines, ignoreBounds=True)
        self._curves: Sequence[Curve] = ()
        self._bands: Sequence[Band] = ()

    def set_ranges(self, x: tuple[float, float], y: tuple[float, float]) -> None:
        """Fix both ranges to the edges of the widget."""
        self._view.setRange(xRange=x, yRange=y, padding=0.0, disableAutoRange=True)
        self._lines.show_bounds(QRectF(x[0], y[0], x[1] - x[0], y[1] - y[0]))

    def set_ground(self, ground: QPixmap) -> None:
        """Show a picture of the widget's size below the curves."""
        self._ground = ground
        self.viewport().update()

    def set_lines(self, curves: Sequence[Curve], bands: Sequence[Band]) -> None:
        """Show these curves and bands, later ones over earlier ones."""
        self._curves, self._bands = tuple(curves), tuple(bands)
        self._lines.show_lines([(self._pen(curve), curve) for curve in curves], bands)

    def event(self, event: QEvent) -> bool:
        """Weigh the lines anew when the widget comes to a screen of another pixel ratio."""
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self.set_lines(self._curves, self._bands)
            self.ratio_changed.emit()
        return bool(super().event(event))

    def drawBackground(self, painter: QPainter, _rect: QRectF) -> None:  # noqa: N802 (Qt's name)
        """Lay down the picture."""
        painter.save()
        painter.resetTransform()
        painter.drawPixmap(0, 0, self._ground)
        painter.restore()

    def _pen(self, curve: Curve) -> QPen:
        pen = QPen(curve.colour, curve.width * self.devicePixelRatioF())
        pen.setCosmetic(True)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if curve.dashes:
            pen.setDashPattern(list(curve.dashes))
        return pen
