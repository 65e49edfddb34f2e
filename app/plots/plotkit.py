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


class _BandItem(pg.GraphicsObject):
    """Polygons of one colour, aliased, that ask for no range."""

    def __init__(self) -> None:
        super().__init__()
        self._polygons: list[QPolygonF] = []
        self._bounds = QRectF()
        self._colour = QColor()
        self.setZValue(-10.0)

    def show_band(self, band: Band) -> None:
        """Take another band."""
        self.prepareGeometryChange()
        self._polygons = [
            arrayToQPolygonF(
                np.concatenate((band.x[run], band.x[run][::-1])),
                np.concatenate((band.high[run], band.low[run][::-1])),
            )
            for run in _runs(band.low)
        ]
        self._bounds = QRectF()
        for polygon in self._polygons:
            self._bounds |= polygon.boundingRect()
        self._colour = band.colour
        self.update()

    def boundingRect(self) -> QRectF:
        """All of its polygons."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        _option: QStyleOptionGraphicsItem,
        _widget: QWidget | None = None,
    ) -> None:
        """Fill the polygons."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._colour)
        for polygon in self._polygons:
            painter.drawPolygon(polygon)


def _runs(values: FloatArray) -> list[slice]:
    """Stretches of a line without NaN."""
    edges = np.flatnonzero(np.diff(np.isfinite(values), prepend=False, append=False))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _among(shown: Sequence[Curve] | Sequence[Band], index: int, new: Curve | Band) -> bool:
    """Whether an item shows this already: most lines lie still while one moves."""
    if index >= len(shown):
        return False
    old = shown[index]
    return all(
        np.array_equal(one, other, equal_nan=True) if isinstance(one, np.ndarray) else one == other
        for one, other in zip(vars(old).values(), vars(new).values(), strict=True)
    )


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
        self._curves: list[pg.PlotCurveItem] = []
        self._bands: list[_BandItem] = []
        self._shown: Sequence[Curve] = ()
        self._shown_bands: Sequence[Band] = ()

    def set_ranges(self, x: tuple[float, float], y: tuple[float, float]) -> None:
        """Fix both ranges to the edges of the widget."""
        self._view.setRange(xRange=x, yRange=y, padding=0.0, disableAutoRange=True)

    def set_ground(self, ground: QPixmap) -> None:
        """Show a picture of the widget's size below the curves."""
        self._ground = ground
        self.viewport().update()

    def set_lines(self, curves: Sequence[Curve], bands: Sequence[Band]) -> None:
        """Show these curves and bands, later ones over earlier ones."""
        while len(self._bands) < len(bands):
            self._bands.append(_BandItem())
            self._view.addItem(self._bands[-1], ignoreBounds=True)
        while len(self._curves) < len(curves):
            self._curves.append(pg.PlotCurveItem(antialias=True, connect="finite"))
            self._view.addItem(self._curves[-1], ignoreBounds=True)
        for index, (item, band) in enumerate(zip(self._bands, bands, strict=False)):
            if not _among(self._shown_bands, index, band):
                item.show_band(band)
        for index, (line, curve) in enumerate(zip(self._curves, curves, strict=False)):
            if not _among(self._shown, index, curve):
                line.setData(curve.x, curve.y, pen=self._pen(curve))
        for items, shown in ((self._bands, len(bands)), (self._curves, len(curves))):
            for index, item in enumerate(items):
                item.setVisible(index < shown)
        self._shown, self._shown_bands = tuple(curves), tuple(bands)

    def event(self, event: QEvent) -> bool:
        """Weigh the lines anew when the widget comes to a screen of another pixel ratio."""
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            for item, curve in zip(self._curves, self._shown, strict=False):
                item.setPen(self._pen(curve))
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
