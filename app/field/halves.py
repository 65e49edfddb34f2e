"""The two halves of the field window: what comes next at the left, the stop at the right.

Each half keeps its parts and lays them out in pieces: an upper one, which must be seen without
scrolling, and a lower one. `app.field.board` puts the pieces together.
"""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from app.field.bars import ChargeBar, ShareBar
from app.field.figures import BigFigure
from app.field.steplist import StepList
from app.shown.readings import spare_words
from app.theme import px
from app.widgets.marks import Mark
from app.widgets.readout import Readouts
from app.widgets.rule import Gap, Rule
from app.widgets.text import Text
from core.clocks import clock_cut
from core.dates import date_text
from core.findings import Finding
from core.flightlegs import Unflown
from core.language import say, say_as
from core.measures import length_text, speeds_text
from core.outlook import Outlook
from core.plan import Plan, Twilight
from core.site import Site, StepRow
from core.words import (
    clock_text,
    cut_down,
    f_number_text,
    filter_text,
    number_text,
    percent_text,
    seconds_text,
    shutter_text,
)

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
#: Sizes of countdown and stop; the second where text is large for the room and lists come below.
_COUNT_PX, _STOP_PX = (132.0, 60.0), (108.0, 60.0)
_AT_PX, _ASIDE_PX, _CLOCK_PX, _LEAD_PX = (26, 19), (19, 15), (21, 18), (24, 19)
#: Shares of the line under the charge's bar: 'expected now 87 %' is longer than the reserve.
_UNDER: Final = (4, 5)
_NOW_PX, _NEXT_PX, _CHARGE_PX = (20, 17), (17, 15), (48, 36)
#: What the charge below the stop is, in few words where there is little room.
_CHARGE_NOTE = say("charge on the gauge, whichever comes first")
_CHARGE_NOTE_TIGHT = say("on the gauge, if that comes first")
#: Beside the name of the place, which has to have room.
_EVENINGS: Final[dict[Twilight, str]] = {
    "dusk": say_as("in short", "dusk"),
    "dawn": say_as("in short", "dawn"),
}


def row(*parts: QWidget, stretch: int | None = None) -> QHBoxLayout:
    """Parts beside each other; the one at `stretch` takes the spare room."""
    made = QHBoxLayout()
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(px(12))
    for place, part in enumerate(parts):
        made.addWidget(part, 1 if place == stretch else 0)
    return made


def column() -> tuple[QWidget, QVBoxLayout]:
    """A piece, and the column in it that its parts go into."""
    piece = QWidget()
    made = QVBoxLayout(piece)
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(px(4))
    return piece, made


def _from_last_done(rows: tuple[StepRow, ...]) -> tuple[StepRow, ...]:
    """The steps that are left, behind the last one that is done: what comes next is in view."""
    done = [place for place, row in enumerate(rows) if row.done]
    return rows[done[-1] :] if done else rows


class NextHalf:
    """Countdown, what to do now and next, and the list that may give way to another page."""

    def __init__(self) -> None:
        self.place = Text("", size_px=17, weight=700)
        self.night = Text("", size_px=17, ink="ink2", whole=True)
        self.clock = Text("", size_px=21, weight=700, align=_RIGHT, whole=True)
        self.clock.setAccessibleName(say("Clock of the place"))
        self.lead = Text("", size_px=24, ink="ink2", wraps=True)
        self.at = Text("", size_px=26, weight=700, align=_RIGHT, whole=True)
        self.count = BigFigure(say("Countdown"), _COUNT_PX[0])
        self.aside = Text("", size_px=19, ink="ink2", align=_RIGHT)
        self.bar = ShareBar()
        self.now = Text("", size_px=20, weight=700, wraps=True)
        self.next = Text("", size_px=17, ink="ink2", wraps=True)
        self.steps = StepList()
        self._tight = False
        self.pages = QStackedWidget()
        self.pages.addWidget(self.steps)

    def upper(self, *, tight: bool) -> QWidget:
        """The countdown and how much of it has passed; `tight` where text is large for the room."""
        piece, parts = column()
        self._tight = tight
        self.count.limit(_COUNT_PX[tight])
        for text, sizes in (
            (self.at, _AT_PX), (self.aside, _ASIDE_PX), (self.clock, _CLOCK_PX),
            (self.lead, _LEAD_PX),
        ):  # fmt: skip
            text.show_text(text.text(), size_px=sizes[tight])
        parts.addLayout(row(self.place, self.night, self.clock, stretch=0 if tight else 1))
        self.night.setVisible(not tight)
        if tight:
            parts.addWidget(Rule())
            parts.addWidget(self.lead)
            parts.addWidget(self.count)
            parts.addLayout(row(self.at, self.aside, stretch=1))
            parts.addStretch(1)
            parts.addWidget(self.bar)
            return piece
        parts.addWidget(Gap(2))
        parts.addWidget(Rule())
        parts.addLayout(row(self.lead, self.at, stretch=0))
        figure = row(self.count, self.aside, stretch=0)
        figure.setAlignment(self.aside, Qt.AlignmentFlag.AlignBottom)
        parts.addLayout(figure)
        parts.addWidget(self.bar)
        parts.addWidget(Gap(2))
        return piece

    def todo(self, *, tight: bool) -> QWidget:
        """What to do now and next; `tight` where text is large for the room."""
        piece, parts = column()
        self.now.show_text(self.now.text(), size_px=_NOW_PX[tight])
        self.next.show_text(self.next.text(), size_px=_NEXT_PX[tight])
        for label, text in ((say("Now"), self.now), (say("Next"), self.next)):
            head = Text(label, size_px=15, weight=600, ink="ink2")
            head.setFixedWidth(px(52))
            line = row(head, text, stretch=1)
            line.setSpacing(px(6))
            line.setAlignment(head, Qt.AlignmentFlag.AlignTop)
            parts.addLayout(line)
        parts.addWidget(Rule())
        return piece

    def show_site(self, plan: Plan, site: Site, now_s: float) -> None:
        """Show where the evening stands."""
        seen = site.table.seen
        self.place.show_text(" ".join(plan.place.name.split()))
        day = f"{date_text(seen.night.date)}, {_EVENINGS[seen.night.twilight]}, {seen.name}"
        self.night.show_text(day)
        self.clock.show_text(clock_text(seen.night.clock(now_s - now_s % 1.0), seconds=True))
        ink = "alarm" if site.late else "ink"
        self.lead.show_text(site.lead, ink="alarm" if site.late else "ink2")
        self.at.show_text(site.at)
        self.count.show_text("" if site.step is None else site.countdown, ink=ink)
        self.aside.show_text(site.aside)
        self.bar.show_share(site.share)
        self.now.show_text(site.now)
        self.next.show_text(site.next)
        self.steps.show_rows(_from_last_done(site.rows) if self._tight else site.rows)


class StopHalf:
    """The latest stop in very large type, the charge beside it, and what must be locked."""

    def __init__(self) -> None:
        self.mark = Mark("stop", size_px=24)
        self.lead = Text("", size_px=24, weight=700, wraps=True)
        self.stop = BigFigure(say("Last frame by"), _STOP_PX[0])
        self.unflown = Text("", size_px=19, weight=700, ink="alarm", wraps=True)
        self.charge = Text("", size_px=48, weight=700)
        self.charge_note = Text("", size_px=17, ink="ink2", wraps=True)
        self.bar = ChargeBar()
        self.reserve = Text("", size_px=15, ink="ink2", wraps=True)
        self.expected = Text("", size_px=15, ink="ink2", align=_RIGHT, wraps=True)
        self.spare = Text("", size_px=26, weight=700, align=_RIGHT)
        self.spare_head = Text(say("To spare"), size_px=19, ink="ink2")
        self.wind_head = Text("", size_px=19, ink="ink2")
        self.wind = Text("", size_px=21, weight=700, align=_RIGHT)
        self.caution_mark = Mark("warn", size_px=20)
        self.caution = Text("", size_px=17, weight=700, wraps=True)
        self.settings = Readouts(say("Settings to lock"), 3, label_px=15, value_px=21)
        self._tight = False

    def upper(self, *, tight: bool) -> QWidget:
        """The stop and the charge to stop at; `tight` where text is large for the room."""
        piece, parts = column()
        self._tight = tight
        head = Text(say("Stop"), size_px=17, weight=700)
        # As high as the clock that stands in the other half's first row.
        tall = Text("", size_px=_CLOCK_PX[tight], weight=700)
        self.stop.limit(_STOP_PX[tight])
        self.charge.show_text(self.charge.text(), size_px=_CHARGE_PX[tight])
        home = Text(say("then fly home"), size_px=17, ink="ink2")
        parts.addLayout(row(head, home, tall, stretch=1))
        if not tight:
            parts.addWidget(Gap(2))
        parts.addWidget(Rule())
        parts.addLayout(row(self.mark, self.lead, stretch=1))
        parts.addWidget(self.stop)
        parts.addWidget(self.unflown)
        parts.addLayout(row(self.charge, self.charge_note, stretch=1))
        if tight:
            parts.addStretch(1)
        return piece

    def lower(self) -> QWidget:
        """The charge as a bar, and what else bears on the flight."""
        piece, parts = column()
        parts.addWidget(self.bar)
        under = row(self.reserve, self.expected, stretch=1)
        for place, share in enumerate(_UNDER):
            under.setStretch(place, share)
        parts.addLayout(under)
        parts.addWidget(Rule())
        parts.addLayout(row(self.spare_head, self.spare, stretch=1))
        parts.addLayout(row(self.wind_head, self.wind, stretch=1))
        parts.addLayout(row(self.caution_mark, self.caution, stretch=1))
        parts.addWidget(Rule())
        parts.addWidget(self.settings)
        parts.addStretch(1)
        return piece

    def show_site(self, plan: Plan, site: Site, caution: Finding | None) -> None:
        """Show the stop and what belongs to it; `caution` is the worst finding of the shoot."""
        seen = site.table.seen
        lacking = seen.flight.unflown
        told = lacking is not None and caution is not None and caution.fact == lacking.fact
        if told and not self._tight:
            # It stands in the place of the stop already.
            caution = None
        self._show_stop(seen, site)
        stop = seen.flight.stop_at_percent
        self.charge.show_text("" if stop is None else percent_text(stop))
        note = _CHARGE_NOTE_TIGHT if self._tight else _CHARGE_NOTE
        self.charge_note.show_text("" if stop is None else note)
        expected = site.expected_percent
        self.bar.show_charge(plan.flight.reserve_percent, stop, expected)
        self.reserve.show_text(
            say("reserve {reserve}", reserve=percent_text(plan.flight.reserve_percent))
        )
        self.expected.show_text(
            ""
            if expected is None
            else say("expected now {expected}", expected=percent_text(cut_down(expected)))
        )
        self._show_spare(seen)
        self._show_wind(seen)
        self._show_caution(caution)
        self.settings.show_entries(settings_entries(seen))

    def _show_caution(self, caution: Finding | None) -> None:
        self.caution_mark.setVisible(caution is not None)
        if caution is None:
            self.caution.show_text("")
            return
        self.caution_mark.show_severity(caution.severity)
        self.caution.show_text(caution.fact, ink="alarm" if caution.severity == "stop" else "ink")

    def _show_stop(self, seen: Outlook, site: Site) -> None:
        self.mark.setVisible(site.past)
        ink = "alarm" if site.past else "ink"
        self.lead.show_text(site.stop_lead, ink=ink, size_px=_LEAD_PX[self._tight])
        flown = seen.latest_stop_s is not None
        self.stop.setVisible(flown)
        self.unflown.setVisible(not flown)
        if seen.latest_stop_s is not None:
            minute, colon, second = clock_cut(seen.night, seen.latest_stop_s).rpartition(":")
            self.stop.show_text(minute, f"{colon}{second}", ink)
        else:
            self.unflown.show_text(self._why_unflown(seen.flight.unflown))

    def _why_unflown(self, lacking: Unflown | None) -> str:
        """Why there is no stop; without figures and the way out where there is little room."""
        if lacking is None:
            return say("The flight is not known.")
        fact = lacking.fact.partition(": ")[0].removesuffix(".")
        return f"{fact}." if self._tight else lacking.text

    def _show_spare(self, seen: Outlook) -> None:
        figure, _, short = spare_words(seen)
        known = seen.flight.margin_min is not None
        self.spare_head.setVisible(known)
        self.spare.setVisible(known)
        self.spare_head.show_text(say("Battery short by") if short else say("To spare"))
        self.spare.show_text(say("{figure} min", figure=figure), ink="alarm" if short else "ink")

    def _show_wind(self, seen: Outlook) -> None:
        flight = seen.flight
        height_m, wind, gust = (
            flight.return_height_m, flight.wind_at_return_m_s, flight.gust_at_return_m_s,
        )  # fmt: skip
        if height_m is None or wind is None:
            air = seen.shoot.conditions
            height_m, wind, gust = 10.0, air.wind_10m_m_s, air.gust_10m_m_s
        self.wind_head.show_text(say("Wind at {height}", height=length_text(height_m)))
        self.wind.show_text(speeds_text(wind, gust))


def settings_entries(seen: Outlook) -> tuple[tuple[str, str], ...]:
    """What must be locked, and the take's two numbers."""
    shoot = seen.shoot
    return (
        (say("shutter"), shutter_text(shoot.shutter_s)),
        ("ISO", number_text(shoot.iso)),
        (say("aperture"), f_number_text(shoot.f_number)),
        (
            say("filter"),
            say_as("filter", "none") if shoot.nd_stops == 0.0 else filter_text(shoot.nd_stops),
        ),
        (say("interval"), seconds_text(shoot.interval_s)),
        (say("frames"), number_text(seen.clip.frames)),
    )
