"""Interval against clip length at one battery: a curve whose points can be pressed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.style import draw_focus_ring
from app.theme import font, px, theme_of
from core.language import say
from core.tradeoff import IntervalTrade
from core.words import number_text, seconds_text

_HEIGHT = 150
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 18, 22, 22


class TradeCurve(QWidget):
    """The longest clip for each interval; left and right choose a point, Enter takes it.

    Signals
    -------
    taken
        The pilot took a point: its place among the trades shown.
    """

    taken = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._trades: tuple[IntervalTrade, ...] = ()
        self._at = 0
        self._mine: tuple[float, float] | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(say("Clip length for each interval at this battery"))

    @property
    def trades(self) -> tuple[IntervalTrade, ...]:
        """What is shown, the shortest interval first; only those with a take at all."""
        return self._trades

    def show_trades(
        self, trades: Sequence[IntervalTrade], interval_s: float, clip_length_s: float
    ) -> None:
        """Show the curve, and where the shoot is on it."""
        self._trades = tuple(trade for trade in trades if trade.frames > 0)
        self._mine = (interval_s, clip_length_s)
        nearest = [abs(trade.interval_s - interval_s) for trade in self._trades]
        self._at = nearest.index(min(nearest)) if nearest else 0
        self._describe()
        self.update()

    def point(self, place: int) -> QPointF:
        """Where a point of the curve lies in the widget."""
        trade = self._trades[place]
        return self._spot(trade.interval_s, trade.clip_length_s)

    def sizeHint(self) -> QSize:
        """Room for the curve and its two scales."""
        return QSize(px(360), px(_HEIGHT))

    def minimumSizeHint(self) -> QSize:
        """The same height, less width."""
        return QSize(px(200), px(_HEIGHT))

    def _spot(self, interval_s: float, clip_length_s: float) -> QPointF:
        room = self._room()
        first, last = self._trades[0].interval_s, self._trades[-1].interval_s
        along = (interval_s - first) / (last - first) if last > first else 0.5
        high = clip_length_s / self._longest()
        return QPointF(room.left() + along * room.width(), room.bottom() - high * room.height())

    def _longest(self) -> float:
        own = self._mine[1] if self._mine else 0.0
        return 1.05 * max(own, *(trade.clip_length_s for trade in self._trades))

    def _room(self) -> QRectF:
        return QRectF(self.rect()).adjusted(px(_LEFT), px(_TOP), -px(_RIGHT), -px(_BOTTOM))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the scales, the curve, its points and the shoot's own place."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.fillRect(self.rect(), theme.sheet)
            if not self._trades:
                painter.setFont(font(13, 400))
                painter.setPen(theme.ink2)
                text = say("The battery leaves no time for a take.")
                painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, text)
                return
            self._paint_scales(painter)
            painter.setPen(QPen(theme.ink2, px(2)))
            painter.drawPolyline([self.point(place) for place in range(len(self._trades))])
            for place in range(len(self._trades)):
                size = px(5 if place == self._at else 3.5)
                painter.setBrush(theme.ink if place == self._at else theme.sheet)
                painter.setPen(QPen(theme.ink, px(1.5)))
                painter.drawEllipse(self.point(place), size, size)
            self._paint_own(painter)
            if self.hasFocus():
                draw_focus_ring(painter, QRectF(self.rect()), theme)

    def _paint_scales(self, painter: QPainter) -> None:
        theme, room = theme_of(self), self._room()
        painter.setFont(font(11, 400))
        step = _round_step(self._longest() / 3.0)
        for count in range(int(self._longest() / step) + 1):
            level = room.bottom() - count * step / self._longest() * room.height()
            painter.setPen(QPen(theme.rule, 1.0))
            painter.drawLine(QPointF(room.left(), level), QPointF(room.right(), level))
            painter.setPen(theme.ink2)
            box = QRectF(0, level - px(8), room.left() - px(6), px(16))
            right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(box, right, seconds_text(count * step))
        free_from = -1.0
        for place, trade in enumerate(self._trades):
            text, x = number_text(trade.interval_s), self.point(place).x()
            if x < free_from:
                continue
            box = QRectF(x - px(20), room.bottom() + px(4), px(40), px(16))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
            free_from = x + px(24)
        painter.setFont(font(11, 600))
        painter.setPen(theme.ink)
        chosen = self._trades[self._at]
        painter.drawText(
            QRectF(room.left(), 0, room.width(), px(_TOP)), Qt.AlignmentFlag.AlignCenter,
            _words(chosen),
        )  # fmt: skip

    def _paint_own(self, painter: QPainter) -> None:
        if self._mine is None:
            return
        theme = theme_of(self)
        first, last = self._trades[0].interval_s, self._trades[-1].interval_s
        spot = self._spot(min(max(self._mine[0], first), last), self._mine[1])
        painter.setPen(QPen(theme.a, px(2)))
        arm = px(6)
        painter.drawLine(spot - QPointF(arm, 0), spot + QPointF(arm, 0))
        painter.drawLine(spot - QPointF(0, arm), spot + QPointF(0, arm))

    def _describe(self) -> None:
        text = _words(self._trades[self._at]) if self._trades else say("no time for a take")
        self.setAccessibleDescription(text)

    def _nearest(self, position: QPointF) -> int:
        across = [abs(self.point(place).x() - position.x()) for place in range(len(self._trades))]
        return across.index(min(across))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell of the point next to the mouse."""
        if self._trades:
            trade = self._trades[self._nearest(event.position())]
            QToolTip.showText(event.globalPosition().toPoint(), _words(trade), self)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the point next to the mouse."""
        if self._trades and event.button() == Qt.MouseButton.LeftButton:
            self._choose(self._nearest(event.position()))
            self.taken.emit(self._at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and right choose, Enter and space take."""
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if self._trades and event.key() in steps:
            place = self._at + steps[Qt.Key(event.key())]
            self._choose(min(max(place, 0), len(self._trades) - 1))
        elif self._trades and event.key() in (
            Qt.Key.Key_Return,
            Qt.Key.Key_Enter,
            Qt.Key.Key_Space,
        ):
            self.taken.emit(self._at)
        else:
            super().keyPressEvent(event)

    def _choose(self, place: int) -> None:
        self._at = place
        self._describe()
        self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Take the room of another text scale."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()


def _words(trade: IntervalTrade) -> str:
    shutter = trade.longest_shutter_s
    fits = (
        say("no shutter fits")
        if shutter is None
        else say("shutter up to {shutter} s", shutter=number_text(shutter, 2))
    )
    return say(
        "every {interval}: {length} s of clip, {frames} frames, {shooting} min; {fits}",
        interval=seconds_text(trade.interval_s),
        length=number_text(trade.clip_length_s, 1),
        frames=trade.frames,
        shooting=number_text(trade.shooting_min, 1),
        fits=fits,
    )


def _round_step(value: float) -> float:
    """The round step next above a value: 1, 2 or 5 times a power of ten."""
    power = 1.0
    while power * 10.0 <= value:
        power *= 10.0
    while power > value:
        power /= 10.0
    return next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= value)
