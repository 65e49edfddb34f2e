"""The row of the field window's large buttons, each with what it does just now."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QHBoxLayout

from app.field.deeds import STRONG, last_deed
from app.field.keys import BigButton
from app.theme import px
from core.fieldlog import FieldLog
from core.language import say
from core.site import Site
from core.words import clock_text

_GAP_PX: Final = 12.0


class DeedRow(QHBoxLayout):
    """Took off, late, lamps, reading and abort, side by side."""

    def __init__(self) -> None:
        super().__init__()
        self.strong = BigButton(say("Took off"), say("starts the clock"), "1", strong=True)
        self.late = BigButton(say("I am late"), say("rescue from now"), "2")
        self.lamps = BigButton(say("Lamps are on"), say("note this minute"), "3")
        self.reading = BigButton(say("Reading"), say("one test still"), "4")
        self.abort = BigButton(say("Abort"), say("fly home, keep log"), "5")
        self.buttons = {
            "strong": self.strong,
            "late": self.late,
            "lamps": self.lamps,
            "reading": self.reading,
            "abort": self.abort,
        }
        self.setSpacing(px(_GAP_PX))
        for button in self.buttons.values():
            self.addWidget(button, 1)

    def show_low(self, *, low: bool) -> None:
        """Be lower where the room is short."""
        for button in self.buttons.values():
            button.show_low(low=low)

    def show_site(self, site: Site, log: FieldLog, *, take_back: bool) -> None:
        """Show what each does where the evening stands; `take_back` is for a deed just done."""
        self._show_strong(site, log, take_back=take_back)
        self._show_lamps(site, log)
        on_ground = site.phase in ("ground", "down")
        self.abort.show_deed(
            say("Abort"), say("not tonight, keep log") if on_ground else say("fly home, keep log")
        )
        self.abort.setEnabled(site.phase not in ("home", "down"))
        self.late.setEnabled(site.phase in ("ground", "air"))

    def _show_strong(self, site: Site, log: FieldLog, *, take_back: bool) -> None:
        if take_back:
            self.strong.show_deed(_did(site, log), say("take it back"))
        else:
            self.strong.show_deed(*STRONG[site.phase])
        enabled = take_back or site.phase != "take"
        window = self.strong.window()
        if not enabled and window.focusWidget() is self.strong:
            # Else Qt gives it to the next button, and a blind press would note the lamps.
            window.setFocus()
        self.strong.setEnabled(enabled)

    def _show_lamps(self, site: Site, log: FieldLog) -> None:
        night = site.table.seen.night
        effect = (
            say("note this minute")
            if log.lamps_s is None
            else say("seen {clock}", clock=clock_text(night.clock(log.lamps_s), seconds=True))
        )
        deed = say("Lamps are on") if night.twilight == "dusk" else say("Lamps are off")
        self.lamps.show_deed(deed, effect)


def _did(site: Site, log: FieldLog) -> str:
    """The last deed with its clock, as it stands on the button for a while."""
    words, time_s = last_deed(log)
    if time_s is None:
        return words
    return f"{words} {clock_text(site.table.seen.night.clock(time_s), seconds=True)}"
