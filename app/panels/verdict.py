"""The verdict band: where and when; whether it holds and when to press; the last frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import QRect, QRectF, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.shown.readings import last_frame_text, spare_words
from app.store import Store
from app.theme import Theme, px, theme_of
from app.widgets.flags import draw_flag, flag_width
from app.widgets.marks import draw_mark
from app.widgets.stamp import Face, fitted, text_width, write
from core.dates import long_date
from core.language import say
from core.names import twilight_text
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.verdict import Verdict, verdict_of
from core.words import NARROW_SPACE, NOTHING, clock_text, percent_text

_HEIGHT_PX = 82.0
_FIGURES_PX = 270.0
# The sentence gets smaller, and takes the line of the settings, before it is cut.
_SENTENCE_PX = (20.0, 17.0, 15.0)
_NARROW_PX, _NARROWER_PX = 13.0, 11.0
_SURE_PX = (15.0, 13.0)
_VISITS = {"first": say("{twilight}, first visit"), "repeat": say("{twilight}, repeat visit")}


@dataclass(frozen=True)
class Shown:
    """The ready texts of the band, and what they say: which shoots hold, whether minutes lack."""

    place: str
    when: tuple[str, str]
    active: ShootName
    holds: bool
    first: str
    sentence: str
    fails: str
    sure: str
    settings: tuple[str, ...]
    other_holds: bool
    other_first: str
    other_sentences: tuple[str, ...]
    last_frame: str
    charge: str
    spare: str
    spare_unit: str
    short: bool


class VerdictPanel(QWidget):
    """The first line of the window, in three blocks over the three columns."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._shown: Shown | None = None
        self._columns = (232, 288)
        self.setAccessibleName(say("Verdict"))
        self.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self.setAutoFillBackground(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        store.changed.connect(self._refresh)
        store.settled.connect(self._refresh)
        self._refresh()

    @property
    def shown(self) -> Shown | None:
        """The texts it shows; None while there is no plan."""
        return self._shown

    def set_column_widths(self, left: int, right: int) -> None:
        """Stand over columns of these widths; 0 for one that is away."""
        if (left, right) != self._columns:
            self._columns = (left, right)
            self.update()

    def sizeHint(self) -> QSize:
        """82 px high."""
        return QSize(px(600), px(_HEIGHT_PX))

    def _refresh(self) -> None:
        plan, active = self._store.plan, self._store.active
        other: ShootName = "B" if active == "A" else "A"
        seen, beside = self._store.outlook(active), self._store.outlook(other)
        findings = self._store.findings
        shown = None
        if plan is not None and seen is not None and beside is not None:
            first = seen, verdict_of(seen, findings, self._store.starts(active))
            second = beside, verdict_of(beside, findings, self._store.starts(other))
            shown = _shown(plan, first, second)
            if findings is None:
                shown = _with_cautions_of(shown, self._shown)
        if shown != self._shown:
            self._shown = shown
            self.setAccessibleDescription(_said(shown) if shown else "")
            self.setToolTip(f"{shown.first} {shown.sentence}" if shown else "")
            self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the three blocks."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            line = max(1, px(1))
            bottom = self.height() - line
            painter.fillRect(0, bottom, self.width(), line, theme.rule)
            shown = self._shown
            if shown is None:
                return
            left, right = self._columns
            # The figures stay when their column is away.
            right = right or px(_FIGURES_PX)
            middle = QRect(left, 0, self.width() - left - right, bottom)
            if left:
                _paint_place(painter, theme, QRect(px(16), 0, left - px(20), bottom), shown)
            _paint_sentence(painter, theme, middle.adjusted(px(12), 0, -px(12), 0), shown)
            x = self.width() - right
            painter.fillRect(x, px(10), line, bottom - px(20), theme.rule)
            _paint_figures(painter, theme, QRect(x + px(12), 0, right - px(20), bottom), shown)


def _shown(plan: Plan, active: tuple[Outlook, Verdict], other: tuple[Outlook, Verdict]) -> Shown:
    seen, verdict = active
    beside, second = other
    spare, unit, short = spare_words(seen)
    stop = seen.flight.stop_at_percent
    return Shown(
        place=plan.place.name,
        when=(
            long_date(seen.shoot.date),
            _VISITS[seen.shoot.visit].format(twilight=twilight_text(seen.shoot.twilight)),
        ),
        active=seen.name,
        holds=verdict.holds,
        first=verdict.first,
        sentence=verdict.sentence,
        fails=verdict.fails,
        sure=verdict.sure,
        settings=verdict.settings,
        other_holds=second.holds,
        other_first=second.first,
        other_sentences=_beside_words(beside, second),
        last_frame=last_frame_text(seen),
        charge="" if stop is None else say("at {percent} charge", percent=percent_text(stop)),
        spare=spare,
        spare_unit=unit,
        short=short,
    )


def _with_cautions_of(shown: Shown, before: Shown | None) -> Shown:
    """What holds by the numbers at hand, with the count of cautions of before where it held too.

    The findings follow a turn of the event loop later: only their number is not known yet,
    and 'Holds.' must not flicker to 'Holds, 1 caution.' under the hand.
    """
    if before is None or (before.active, before.place) != (shown.active, shown.place):
        return shown
    first = before.first if shown.holds and before.holds else shown.first
    other = before.other_first if shown.other_holds and before.other_holds else shown.other_first
    return replace(shown, first=first, other_first=other)


def _beside_words(seen: Outlook, verdict: Verdict) -> tuple[str, ...]:
    """The other shoot in short: what fails, when and how; then the same in ever fewer words."""
    clock = clock_text(seen.night.clock(seen.press_s), seconds=True)
    shutter, iso, _, nd_filter, interval, *_ = verdict.settings
    with_filter = "" if seen.shoot.nd_stops == 0.0 else f", {nd_filter}"
    how = f"{clock}, {shutter}, {iso}{with_filter}, {interval}"
    if verdict.holds:
        return (f"{how}.",)
    return f"{verdict.sentence} {how}.", verdict.sentence, verdict.fails


def _said(shown: Shown) -> str:
    other = "B" if shown.active == "A" else "A"
    spare = "" if shown.spare == NOTHING else f"{shown.spare} {shown.spare_unit}"
    parts = (
        f"{shown.active}: {shown.first} {shown.sentence} {shown.sure}".rstrip(),
        ", ".join(shown.settings) + ".",
        say(
            "Last frame by {clock} {charge}, {spare}.",
            clock=shown.last_frame,
            charge=shown.charge,
            spare=spare,
        ),
        f"{other}: {shown.other_first} {shown.other_sentences[0]}",
    )
    return " ".join(parts)


def _put(painter: QPainter, room: QRect, text: str, face: Face, ink: QColor) -> int:
    """Write a text at the left of its room, cut where it must be; how wide it became."""
    shown = fitted(text, face, room.width())
    write(painter, room, shown, face, ink)
    return text_width(shown, face)


def _line(room: QRect, top_px: float, height_px: float) -> QRect:
    return QRect(room.left(), px(top_px), room.width(), px(height_px))


def _paint_place(painter: QPainter, theme: Theme, room: QRect, shown: Shown) -> None:
    _put(painter, _line(room, 12, 22), shown.place, (17, 700), theme.ink)
    _put(painter, _line(room, 35, 17), shown.when[0], (13, 400), theme.ink2)
    _put(painter, _line(room, 53, 17), shown.when[1], (13, 400), theme.ink2)


def _paint_sentence(painter: QPainter, theme: Theme, room: QRect, shown: Shown) -> None:
    flag = px(26)
    draw_flag(
        painter,
        QRectF(room.left(), px(11), flag_width("A", flag), flag),
        shown.active,
        theme,
        size_px=15,
    )
    text = room.adjusted(px(38), 0, 0, 0)
    first, second = _line(text, 10, 28), _line(text, 38, 18)
    size = next((size for size in _SENTENCE_PX if _widths(shown, size)[1] <= first.width()), None)
    if size is None:
        _put(painter, first, shown.first, (_SENTENCE_PX[0], 700), theme.ink)
        sentences = (shown.sentence, shown.fails or shown.sentence)
        faces = ((_NARROW_PX, 500), (_NARROWER_PX, 500))
        told = _first_whole([(one, face) for one in sentences for face in faces], second.width())
        _put(painter, second, *told, theme.ink)
    else:
        _put(painter, first, shown.first, (size, 700), theme.ink)
        after = first.adjusted(_widths(shown, size)[0], 0, 0, 0)
        used = _put(painter, after, shown.sentence, (size, 500), theme.ink)
        _put_sure(painter, theme, after.adjusted(used + px(12), 0, 0, 0), shown.sure)
        _put_parted(painter, theme, second, shown.settings)
    _paint_other(painter, theme, _line(room, 57, 18), shown)


def _put_sure(painter: QPainter, theme: Theme, room: QRect, sure: str) -> None:
    """The sure starts behind the sentence, at the larger size that fits; or not at all."""
    for size in _SURE_PX:
        if text_width(sure, (size, 400)) <= room.width():
            _put(painter, room.adjusted(0, px(2), 0, 0), sure, (size, 400), theme.ink2)
            return


def _widths(shown: Shown, size_px: float) -> tuple[int, int]:
    """Where the sentence begins after the first words, and how wide both are."""
    first = text_width(shown.first, (size_px, 700)) + px(8)
    return first, first + text_width(shown.sentence, (size_px, 500))


def _put_parted(painter: QPainter, theme: Theme, room: QRect, words: Sequence[str]) -> None:
    """Words in a row with strokes between them; those that do not fit go."""
    x, gap = room.left(), px(8)
    face = (13, 500)
    for place, word in enumerate(words):
        wide = text_width(word, face)
        before = 2 * gap if place else 0
        if x + before + wide > room.right():
            return
        if place:
            painter.fillRect(x + gap, room.top() + px(4), max(1, px(1)), px(10), theme.edge)
            x += before
        write(painter, QRect(x, room.top(), wide, room.height()), word, face, theme.ink)
        x += wide


def _paint_other(painter: QPainter, theme: Theme, room: QRect, shown: Shown) -> None:
    other: ShootName = "B" if shown.active == "A" else "A"
    height = px(17)
    rect = QRectF(room.left(), room.top() + px(1), flag_width("B", 1.15 * height), height)
    if other == "A":
        rect.setWidth(height)
    draw_flag(painter, rect, other, theme, size_px=12)
    text = room.adjusted(px(38), 0, 0, 0)
    first = _put(painter, text, shown.other_first, (_NARROW_PX, 700), theme.ink) + px(6)
    rest = text.adjusted(first, 0, 0, 0)
    fewest = (shown.other_sentences[-1], (_NARROWER_PX, 400))
    told = [*((one, (_NARROW_PX, 400)) for one in shown.other_sentences), fewest]
    _put(painter, rest, *_first_whole(told, rest.width()), theme.ink2)


def _first_whole(told: Sequence[tuple[str, Face]], room: int) -> tuple[str, Face]:
    """The first of some texts that stands whole in its room; the last, to be cut, where none do."""
    return next((one for one in told if text_width(*one) <= room), told[-1])


#: The half of the day behind a clock of twelve hours.
_HALF = (14, 600)


def _paint_figures(painter: QPainter, theme: Theme, room: QRect, shown: Shown) -> None:
    clock, _, half = shown.last_frame.partition(NARROW_SPACE)
    wide = text_width("00:00:00", (32, 700)) + px(18)
    if half:
        wide += text_width(half, _HALF) - px(8)
    left, right = room, room.adjusted(wide, 0, 0, 0)
    label = say("Too little") if shown.short else say("To spare")
    _put(painter, _line(left, 12, 16), say("Last frame by"), (12, 400), theme.ink2)
    _put(painter, _line(right, 12, 16), label, (12, 400), theme.ink2)
    behind = _put(painter, _line(left, 26, 38), clock, (32, 700), theme.ink)
    _put(painter, _line(left.adjusted(behind + px(2), 0, 0, 0), 34, 28), half, _HALF, theme.ink)
    _put(painter, _line(left, 62, 16), shown.charge, (13, 600), theme.ink)
    figure, ink = _line(right, 26, 38), theme.alarm if shown.short else theme.ink
    if shown.short:
        side = px(16)
        draw_mark(
            painter,
            QRectF(figure.left(), figure.center().y() - side / 2, side, side),
            "stop",
            theme,
        )
        figure.adjust(side + px(5), 0, 0, 0)
    unit_type = (12, 600 if shown.short else 400)
    _put(painter, figure, shown.spare, (32, 700), ink)
    _put(painter, _line(right, 62, 16), shown.spare_unit, unit_type, ink)
