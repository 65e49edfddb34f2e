"""Lines as polygons: a stretch that lies off the clock has no points, and that is drawn too."""

from __future__ import annotations

import numpy as np

from app.plots.plotkit import polygon


def test_a_line_without_points_is_empty() -> None:
    assert polygon(np.array([]), np.array([])).isEmpty()


def test_a_line_keeps_its_points() -> None:
    points = polygon(np.array([1.0, 2.0]), np.array([3.0, 4.0]))
    found = [points.at(place) for place in range(points.size())]
    assert [(point.x(), point.y()) for point in found] == [(1.0, 3.0), (2.0, 4.0)]
