"""Fusion with outlines that stay visible on every ground, and one focus ring everywhere."""

from __future__ import annotations

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QProxyStyle, QStyle, QStyleOption, QStyleOptionComplex, QWidget

from app.theme import THEMES, Theme, px, theme_of


def draw_focus_ring(painter: QPainter, rect: QRectF, theme: Theme) -> None:
    """Stroke the focus ring, 2 px of ink, just inside a rectangle."""
    width = float(max(2, px(2)))
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    pen = QPen(theme.ink, width)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    half = width / 2.0
    painter.drawRect(rect.adjusted(half, half, -half, -half))
    painter.restore()


def draw_outline(painter: QPainter, rect: QRectF, pen: QPen) -> None:
    """Stroke a rectangle so that the line lies inside it."""
    half = pen.widthF() / 2.0
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(rect.adjusted(half, half, -half, -half))


class Style(QProxyStyle):
    """Fusion, with boxes, frames and scroll bars stroked in the theme's own colours.

    Fusion makes its outlines by darkening the window, and they vanish on a dark one.
    """

    def __init__(self) -> None:
        super().__init__("Fusion")

    def drawPrimitive(
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw boxes, frames and the focus ring; leave the rest to Fusion."""
        theme = theme_of(widget) if widget is not None else THEMES["light"]
        kind = QStyle.PrimitiveElement
        if element in (kind.PE_IndicatorCheckBox, kind.PE_IndicatorItemViewItemCheck):
            _draw_check_box(painter, option, theme)
        elif element == kind.PE_IndicatorRadioButton:
            _draw_radio(painter, option, theme)
        elif element in (kind.PE_FrameLineEdit, kind.PE_Frame, kind.PE_FrameMenu):
            draw_outline(painter, QRectF(option.rect), QPen(theme.edge, 1.0))
        elif element == kind.PE_FrameFocusRect:
            draw_focus_ring(painter, QRectF(option.rect), theme)
        else:
            super().drawPrimitive(element, option, painter, widget)

    def drawComplexControl(
        self,
        control: QStyle.ComplexControl,
        option: QStyleOptionComplex,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw scroll bars as a plain bar; leave the rest to Fusion."""
        if control == QStyle.ComplexControl.CC_ScrollBar and widget is not None:
            handle = self.subControlRect(
                control, option, QStyle.SubControl.SC_ScrollBarSlider, widget
            )
            _draw_scroll_bar(painter, option.rect, handle, theme_of(widget))
        else:
            super().drawComplexControl(control, option, painter, widget)

    def pixelMetric(
        self,
        metric: QStyle.PixelMetric,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
    ) -> int:
        """Measures that grow with the text."""
        kind = QStyle.PixelMetric
        sizes = {
            kind.PM_ScrollBarExtent: 10,
            kind.PM_IndicatorWidth: 14,
            kind.PM_IndicatorHeight: 14,
            kind.PM_ExclusiveIndicatorWidth: 14,
            kind.PM_ExclusiveIndicatorHeight: 14,
            kind.PM_CheckBoxLabelSpacing: 6,
        }
        if metric in sizes:
            return px(sizes[metric])
        return super().pixelMetric(metric, option, widget)


def _indicator(option: QStyleOption) -> tuple[bool, bool, QRectF]:
    enabled = bool(option.state & QStyle.StateFlag.State_Enabled)
    marked = bool(option.state & QStyle.StateFlag.State_On)
    return enabled, marked, QRectF(option.rect)


def _draw_check_box(painter: QPainter, option: QStyleOption, theme: Theme) -> None:
    enabled, marked, rect = _indicator(option)
    painter.save()
    painter.fillRect(rect, theme.field)
    # Of a box without a mark the outline is all there is to see: as dark as a label.
    draw_outline(painter, rect, QPen(theme.ink2 if enabled else theme.rule, max(1.0, px(1))))
    if marked:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = theme.ink if enabled else theme.ink3
        painter.setPen(
            QPen(colour, rect.width() / 7.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.SquareCap)
        )
        x, y, side = rect.x(), rect.y(), rect.width()
        for begin, end in (((0.25, 0.52), (0.43, 0.7)), ((0.43, 0.7), (0.76, 0.3))):
            painter.drawLine(
                round(x + begin[0] * side),
                round(y + begin[1] * side),
                round(x + end[0] * side),
                round(y + end[1] * side),
            )
    painter.restore()


def _draw_radio(painter: QPainter, option: QStyleOption, theme: Theme) -> None:
    enabled, marked, rect = _indicator(option)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    # A curve of a single pixel would be smoothed away.
    width = 1.6 * max(1.0, px(1))
    painter.setPen(QPen(theme.ink2 if enabled else theme.rule, width))
    painter.setBrush(theme.field)
    half = width / 2.0
    painter.drawEllipse(rect.adjusted(half, half, -half, -half))
    if marked:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.ink if enabled else theme.ink3)
        inset = rect.width() * 0.28
        painter.drawEllipse(rect.adjusted(inset, inset, -inset, -inset))
    painter.restore()


def _draw_scroll_bar(painter: QPainter, whole: QRect, handle: QRect, theme: Theme) -> None:
    painter.save()
    painter.fillRect(whole, theme.window)
    inset = max(1, whole.width() // 5) if whole.height() > whole.width() else 0
    inset_y = 0 if inset else max(1, whole.height() // 5)
    painter.fillRect(handle.adjusted(inset, inset_y, -inset, -inset_y), theme.edge)
    painter.restore()
