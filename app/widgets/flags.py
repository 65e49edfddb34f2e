"""The flags of the two shoots: A a square, B a pill, hollow where the shoot is the other one."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import Theme, px, text_scale, theme_of
from app.widgets.stamp import MIDDLE, stamp, write
from core.plan import ShootName

#: Length of dash and gap in pen widths, wherever B is drawn dashed.
DASHES = (3.2, 1.7)


def flag_width(name: ShootName, height: float) -> float:
    """How wide a flag of a height is: A is square, B a third wider."""
    return height if name == "A" else 1.34 * height


def shoot_outline(theme: Theme, name: ShootName, width: float) -> QPen:
    """The pen of a shoot's outlines: solid for A, dashed for B."""
    pen = QPen(theme.shoot(name), width)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if name == "B":
        pen.setDashPattern(DASHES)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


def draw_shape(painter: QPainter, rect: QRectF, name: ShootName) -> None:
    """A rectangle for A, a pill for B, with the painter's pen and brush."""
    if name == "A":
        painter.drawRect(rect)
    else:
        radius = rect.height() / 2.0
        painter.drawRoundedRect(rect, radius, radius)


def draw_flag(
    painter: QPainter,
    rect: QRectF,
    name: ShootName,
    theme: Theme,
    *,
    hollow: bool = False,
    size_px: float = 12.0,
) -> None:
    """Paint a shoot's flag with its letter; `size_px` is the letter's size at 100 %."""

    def draw(flag: QPainter, shape: QRectF) -> None:
        flag.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = theme.shoot(name)
        if hollow:
            width = 1.4 * text_scale()
            flag.setPen(QPen(colour, width))
            half = width / 2.0
            draw_shape(flag, shape.adjusted(half, half, -half, -half), name)
        else:
            flag.setPen(Qt.PenStyle.NoPen)
            flag.setBrush(colour)
            draw_shape(flag, shape, name)
        ink = colour if hollow else theme.on_shoot(name)
        write(flag, shape, name, (size_px, 700), ink, MIDDLE)

    stamp(painter, rect, ("flag", name, theme.name, hollow, size_px), draw)


class Flag(QWidget):
    """A flag that stands in a layout.

    Parameters
    ----------
    height_px, size_px
        Height of the flag and size of its letter at 100 % text.
    at_right
        Whether it stands at the right of its room.
    """

    def __init__(
        self,
        name: ShootName,
        parent: QWidget | None = None,
        *,
        hollow: bool = False,
        height_px: float = 18.0,
        size_px: float = 12.0,
        at_right: bool = False,
    ) -> None:
        super().__init__(parent)
        self._name = name
        self._hollow = hollow
        self._height_px = height_px
        self._size_px = size_px
        self._at_right = at_right
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(name)

    @property
    def name(self) -> ShootName:
        """The shoot that the flag stands for."""
        return self._name

    def show_shoot(self, name: ShootName) -> None:
        """Turn the flag to a shoot."""
        if name != self._name:
            self._name = name
            self.setAccessibleName(name)
            self.updateGeometry()
            self.update()

    def sizeHint(self) -> QSize:
        """As wide as the wider of the two, so that nothing moves when they change."""
        return QSize(round(flag_width("B", px(self._height_px))), px(self._height_px))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the flag at one side of its room."""
        height = float(px(self._height_px))
        top = (self.height() - height) / 2.0
        width = flag_width(self._name, height)
        left = self.width() - width if self._at_right else 0.0
        rect, theme = QRectF(left, top, width, height), theme_of(self)
        with QPainter(self) as painter:
            draw_flag(painter, rect, self._name, theme, hollow=self._hollow, size_px=self._size_px)
