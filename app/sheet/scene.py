"""What all tracks of one moment share, worked out once."""

from __future__ import annotations

from dataclasses import dataclass

from app.sheet.clock import Axis
from app.sheet.clockpicture import ClockPicture, clock_picture
from app.sheet.pictures import Edges, View, edges_of
from app.sheet.tonepicture import Shade, shade_of


@dataclass(frozen=True)
class Scene:
    """The view with its takes' edges, its shade and its clock on one axis."""

    view: View
    edges: tuple[Edges, Edges]
    shade: Shade
    clock: ClockPicture


def scene_of(view: View, axis: Axis, before: Scene | None = None) -> Scene:
    """The scene of a view on an axis; what is as in the scene before is the same object."""
    shade, clock = shade_of(view.outlook, axis), clock_picture(view, axis)
    scene = Scene(view, edges_of(view, axis), shade, clock)
    if before is None:
        return scene
    return Scene(
        view,
        before.edges if scene.edges == before.edges else scene.edges,
        before.shade if scene.shade == before.shade else scene.shade,
        before.clock if scene.clock == before.clock else scene.clock,
    )
