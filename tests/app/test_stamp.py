"""Words and marks laid down as pictures: the same ink in the same place as if they were drawn."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from app.looks import prepare
from app.theme import font, set_text_scale
from app.widgets.stamp import MIDDLE, RIGHT, fitted, stamp, text_width, wrapped, write, write_on

ROOM = QRectF(10.0, 5.0, 180.0, 30.0)
TEXT = "Press 19:46:20"
FACE = (13, 600)
INK = QColor("#a8084c")
ALIGN = {0.0: Qt.AlignmentFlag.AlignLeft, 0.5: Qt.AlignmentFlag.AlignHCenter}
ALIGN[RIGHT] = Qt.AlignmentFlag.AlignRight


@pytest.fixture(autouse=True)
def dressed(qapp: QApplication) -> None:
    prepare(qapp)
    set_text_scale(qapp, 1.0)


def _canvas(ratio: float = 1.0) -> QImage:
    image = QImage(int(200 * ratio), int(40 * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(Qt.GlobalColor.white)
    return image


def _ink(image: QImage) -> NDArray[np.float64]:
    """How dark each pixel is, 0 to 255."""
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)
    return 255.0 - rows[..., 1].astype(np.float64)


def _middle(ink: NDArray[np.float64]) -> tuple[float, float]:
    rows, cols = np.indices(ink.shape)
    return float((cols * ink).sum() / ink.sum()), float((rows * ink).sum() / ink.sum())


@pytest.mark.parametrize("ratio", [1.0, 2.0])
@pytest.mark.parametrize("share", [0.0, MIDDLE, RIGHT])
def test_a_line_stands_where_qt_writes_it(share: float, ratio: float) -> None:
    laid, drawn = _canvas(ratio), _canvas(ratio)
    painter = QPainter(laid)
    write(painter, ROOM, TEXT, FACE, INK, share)
    painter.end()
    painter = QPainter(drawn)
    painter.setFont(font(*FACE))
    painter.setPen(INK)
    painter.drawText(ROOM, ALIGN[share] | Qt.AlignmentFlag.AlignVCenter, TEXT)
    painter.end()
    one, other = _ink(laid), _ink(drawn)
    assert np.array(_middle(one)) == pytest.approx(np.array(_middle(other)), abs=1.0 * ratio)
    # Qt writes on a solid ground with a gamma of its own, so the weight differs a little.
    assert one.sum() == pytest.approx(other.sum(), rel=0.2)


def test_what_was_drawn_once_is_not_drawn_again() -> None:
    drawn: list[QRectF] = []

    def draw(painter: QPainter, rect: QRectF) -> None:
        drawn.append(rect)
        painter.fillRect(rect, INK)

    for x in (10.0, 40.3):
        image = _canvas()
        painter = QPainter(image)
        stamp(painter, QRectF(x, 8.0, 12.0, 9.0), "a square of this test", draw)
        painter.end()
        assert (_ink(image) > 0.0).sum() == 12 * 9
    assert len(drawn) == 1


def test_another_ink_type_or_scale_is_another_picture(qapp: QApplication) -> None:
    seen = set()
    for ink, face, scale in (
        (INK, FACE, 1.0),
        (QColor("#0a4a94"), FACE, 1.0),
        (INK, (13, 700), 1.0),
        (INK, FACE, 1.5),
    ):
        set_text_scale(qapp, scale)
        image = _canvas()
        painter = QPainter(image)
        write(painter, ROOM, TEXT, face, ink)
        painter.end()
        seen.add(bytes(image.constBits()))
    set_text_scale(qapp, 1.0)
    assert len(seen) == 4


def test_the_baseline_is_where_it_was_asked_for() -> None:
    image = _canvas()
    painter = QPainter(image)
    width = write_on(painter, 20.0, 25.0, "HE", (20, 700), QColor("black"))
    painter.end()
    rows, cols = np.nonzero(_ink(image) > 128.0)
    assert rows.max() == 24  # capitals stand on the line, not below it
    assert 20 <= cols.min() < 24
    assert cols.max() < 20 + width


def test_a_line_too_long_is_cut_and_a_short_one_is_not() -> None:
    whole = text_width(TEXT, FACE)
    assert fitted(TEXT, FACE, whole) == TEXT
    cut = fitted(TEXT, FACE, whole - 1)
    assert cut.endswith("…")
    assert text_width(cut, FACE) <= whole - 1


@pytest.mark.parametrize("width", [80, 200, 455, 2000])
def test_a_wrapped_text_is_whole_and_no_line_is_wider_than_its_room(
    qapp: QApplication, width: int
) -> None:
    assert qapp
    text = "No charge is left for frames: take-off is at 45 % on the gauge; come nearer."
    lines = wrapped(text, (13, 600), width)
    assert " ".join(lines) == text
    assert all(text_width(line, (13, 600)) <= width + 1 for line in lines)
    assert (len(lines) == 1) == (text_width(text, (13, 600)) <= width)


def test_no_text_has_no_lines(qapp: QApplication) -> None:
    assert qapp
    assert wrapped("", (13, 400), 100) == ()
