"""The fan: joins the active take on the clock to the ends of its frames beneath."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter, QPolygonF
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock
from app.sheet.ink import edge_pen
from app.sheet.pictures import Edges, clock_of
from app.sheet.scene import Scene
from app.sheet.track import ApartTrack
from app.store import Store
from app.theme import faint, text_scale
from core.language import say

HEIGHT: Final = 12
_TAKE_SHARE = 0.07


@dataclass(frozen=True)
class FanPicture:
    """The active take's edges, and what they are in words."""

    edges: Edges
    description: str


class FanTrack(ApartTrack[FanPicture]):
    """Shows the change of scale between the clock and the frames."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Scale of the frames"), parent)

    def picture_of(self, scene: Scene, _clock: Clock) -> FanPicture | None:
        """The active take."""
        seen = scene.view.outlook
        first, last = (clock_of(seen.night, at) for at in (seen.press_s, seen.last_frame_s))
        return FanPicture(
            scene.edges[-1],
            say(
                "The frames of {name} run from {first} to {last}.",
                name=seen.name,
                first=first,
                last=last,
            ),
        )

    def description_of(self, picture: FanPicture | None) -> str:
        """From when to when the frames run."""
        return picture.description if picture is not None else ""

    def still_of(self, _picture: FanPicture | None) -> object:
        """Nothing but the bare sheet."""
        return None

    def draw_still(self, painter: QPainter, clock: Clock) -> None:
        """Draw nothing: all of it moves."""

    def draw_moving(self, painter: QPainter, clock: Clock) -> None:
        """Draw the fan from the take's edges to the ends of the strip."""
        picture = self._picture
        if picture is None:
            return
        theme, edges, bottom = self.theme, picture.edges, float(self.height())
        ends = (min(max(clock.x(at), clock.left), clock.right) for at in _times(edges))
        top = tuple(QPointF(x, 0.0) for x in ends)
        feet = (QPointF(clock.left, bottom), QPointF(clock.right, bottom))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint(theme.shoot(edges.name), _TAKE_SHARE))
        painter.drawPolygon(QPolygonF([*top, feet[1], feet[0]]))
        painter.setPen(edge_pen(theme, edges.name, 1.2 * text_scale()))
        for one, other in zip(top, feet, strict=True):
            painter.drawLine(QLineF(one, other))

    def draw_cursor(self, painter: QPainter, x: float) -> None:
        """Draw nothing: the cursor does not run across the change of scale."""


def _times(edges: Edges) -> tuple[float, float]:
    return edges.first_s, edges.last_s
