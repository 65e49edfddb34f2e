"""The sheet of a reviewed take: tones, frames and drift on the clock of the plan."""

from __future__ import annotations

from typing import Final

import numpy as np
from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.reviewed.measuring import Measured
from app.reviewed.picture import Drift, ReviewPicture, drift_of, hover_words, review_picture
from app.reviewed.tracks import (
    draw_clock,
    draw_drift,
    draw_strips,
    draw_tones,
    draw_track,
)
from app.sheet.clock import Clock
from app.sheet.ink import draw_vertical, sheet_pixmap
from app.sheet.toneground import ground_pixmap
from app.style import draw_focus_ring
from app.theme import px, text_scale, theme_of
from core.language import say
from core.words import number_text, percent_text

#: Width of the gutter and of what is kept free at the right; heights of the rows.
_GUTTER_PX, _RIGHT_PX = 112, 12
_CLOCK_PX, _STRIPS_PX, _DRIFT_PX = 42, 126, 66
#: The least of strips and drift, for their heads' sake; the share of a low sheet that they take.
_LEAST_STRIPS_PX, _LEAST_DRIFT_PX = 92, 44
_STRIPS_SHARE, _DRIFT_SHARE = 0.18, 0.095
#: The least of the tones' own plot, in pixels of the screen whatever the size of the text.
_LEAST_TONES = 130
_NUMBERS_PX: Final = 20
_STEPS: Final[dict[int, int]] = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


class ReviewSheet(QWidget):
    """Shows a measured take; the frame under the pointer is told.

    Signals
    -------
    pointed
        The frame under the pointer in words; empty where there is none.
    picked
        A frame that was clicked, by its place among those that are there.
    """

    pointed, picked = Signal(str), Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._measured: Measured | None = None
        self._picture: ReviewPicture | None = None
        self._drawn = QPixmap()
        self._drawn_for: tuple[object, ...] = ()
        self._at: int | None = None
        self.setAccessibleName(say("The take on its clock"))
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_take(self, measured: Measured) -> None:
        """Show a take."""
        self._measured = measured
        self._picture = None
        self._at = None
        self._drawn_for = ()
        self.setAccessibleDescription(" ".join(measured.seen.verdict))
        self.update()

    def minimumSizeHint(self) -> QSize:
        """Room for the tracks and some tones."""
        least = px(_CLOCK_PX + _LEAST_STRIPS_PX + _LEAST_DRIFT_PX)
        return QSize(px(_GUTTER_PX) + 340, least + _LEAST_TONES)

    def sizeHint(self) -> QSize:
        """A window's worth."""
        return QSize(px(940), px(720))

    def _lower_rows(self) -> tuple[int, int]:
        """Heights of strips and drift: less in a low sheet, for the tones are what it is about."""
        strips = max(px(_LEAST_STRIPS_PX), round(_STRIPS_SHARE * self.height()))
        drift = max(px(_LEAST_DRIFT_PX), round(_DRIFT_SHARE * self.height()))
        return min(px(_STRIPS_PX), strips), min(px(_DRIFT_PX), drift)

    def _clock(self, picture: ReviewPicture) -> Clock:
        return Clock(picture.axis, float(px(_GUTTER_PX)), float(self.width() - px(_RIGHT_PX)))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell the frame that is nearest in time."""
        if self._picture is None or self._measured is None:
            return
        axis_s = self._clock(self._picture).axis_s(event.position().x())
        times = self._picture.time_s
        inside = times[0] - 10.0 <= axis_s <= times[-1] + 10.0
        self._point(int(np.argmin(np.abs(times - axis_s))) if inside else None)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick the frame under the pointer."""
        super().mousePressEvent(event)
        self.mouseMoveEvent(event)
        if self._at is not None:
            self.picked.emit(self._at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows tell the next frame, Home and End the first and the last one."""
        key = event.key()
        if self._picture is None or key not in (*_STEPS, Qt.Key.Key_Home, Qt.Key.Key_End):
            super().keyPressEvent(event)
            return
        last = len(self._picture.time_s) - 1
        ends: dict[int, int] = {Qt.Key.Key_Home: 0, Qt.Key.Key_End: last}
        at = -1 if self._at is None else self._at
        self._point(ends.get(key, min(max(at + _STEPS.get(key, 0), 0), last)))

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keyboard is."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that it is elsewhere."""
        super().focusOutEvent(event)
        self.update()

    def _point(self, at: int | None) -> None:
        if at != self._at and self._measured is not None:
            self._at = at
            self.pointed.emit("" if at is None else hover_words(self._measured, at))
            self.update()

    def leaveEvent(self, event: object) -> None:
        """Nothing is pointed at any more."""
        del event
        self._at = None
        self.pointed.emit("")
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Lay the tracks down, and the pointer's line over them."""
        theme = theme_of(self)
        key = (theme.name, self.size().toTuple(), text_scale(), self.devicePixelRatioF())
        if self._measured is not None and key != self._drawn_for:
            self._picture = review_picture(self._measured, dim=theme.name == "dim")
            self._drawn = self._draw(self._measured, self._picture)
            self._drawn_for = key
        with QPainter(self) as painter:
            if self._picture is None:
                painter.fillRect(self.rect(), theme.sheet)
                return
            painter.drawPixmap(0, 0, self._drawn)
            if self._at is not None:
                x = self._clock(self._picture).x(float(self._picture.time_s[self._at]))
                draw_vertical(painter, theme.ink, x, 0.0, float(self.height()))
            if self.hasFocus():
                draw_focus_ring(painter, QRectF(self.rect()), theme)

    def _draw(self, measured: Measured, picture: ReviewPicture) -> QPixmap:
        theme, clock = theme_of(self), self._clock(picture)
        whole = sheet_pixmap(self, theme, float(self.width()), float(self.height()))
        strips, drift = self._lower_rows()
        tones = self.height() - px(_CLOCK_PX) - strips - drift
        under = ground_pixmap(self, theme, clock, picture.ground, float(tones))
        frame = (strips - px(_NUMBERS_PX)) / 2.0
        with QPainter(whole) as painter:
            painter.drawPixmap(round(clock.left), 0, under)
            draw_tones(painter, theme, clock, picture, float(tones))
            draw_clock(
                painter, theme, clock, picture, measured.seen.shown.reviewed.seen.night, tones
            )
            draw_strips(painter, theme, clock, picture, tones + px(_CLOCK_PX), frame)
            draw_drift(
                painter, theme, clock, picture,
                tones + px(_CLOCK_PX) + strips, float(drift),
            )  # fmt: skip
        return whole


class DriftTrack(QWidget):
    """The departure from the planned path, seen as the picture moved."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._drift: Drift | None = None
        self._told = ""
        self.setAccessibleName(say("Drift from the planned path"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_take(self, measured: Measured) -> None:
        """Show a take's drift."""
        rms, crop = measured.seen.drift_rms_px, measured.seen.crop_percent
        self._drift = drift_of(measured)
        if rms is None or crop is None:
            self._told = say("could not be followed")
        else:
            self._told = say(
                "{rms} px rms, crop {crop}", rms=number_text(rms, 1), crop=percent_text(crop, 1)
            )
        self.setAccessibleDescription(self._told)
        self.update()

    def sizeHint(self) -> QSize:
        """A square-ish piece of the column."""
        return QSize(px(200), px(172))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw rings and track."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), theme.field)
            if self._drift is not None:
                draw_track(painter, theme, QRectF(self.rect()), self._drift, self._told)
