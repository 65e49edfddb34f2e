"""Motion in the picture, and what tonight's air means, for the active shoot."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.shown.moving import air_rows, camera_rows, subject_rows
from app.store import Store
from app.widgets.key_row import KeyRow
from app.widgets.readout import Column, Table
from app.widgets.roomy import open_at
from app.widgets.text import Text
from app.windows.panes import Pane, heading
from core.advice.rules import by_the_clock, by_the_sun
from core.findings import CHECK_RULES
from core.language import say
from core.motion import PICTURE_PX

_AIR = (("humidity_percent", say("Humidity")), ("visibility_km", say("Visibility")))


class MovingWindow(Pane):
    """How far things move per frame and per exposure; wind at height, dew, cloud, twilights."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Motion and weather"), parent)
        open_at(self, 520, 760)

    def fill(self, column: QVBoxLayout) -> None:
        """The parts: what moves by itself, what the camera does, the air, both twilights."""
        name = self._store.active
        width = say(
            "Pixels of a picture {width} wide; at mid-ground and at the nearest.",
            width=f"{PICTURE_PX:.0f}",
        )
        column.addLayout(heading(say("What moves in shoot {name}", name=name), width))
        across = (Column(1, "left"), Column(), Column(), Column())
        self.subjects = Table(say("What moves"), across, row_px=20, ruled=True)
        column.addWidget(self.subjects)
        about = say(
            "Standing things: what the path, the gimbal and the hover in this wind do to them."
        )
        column.addLayout(heading(say("What the camera does"), about))
        facts = (Column(1, "left"), Column())
        self.camera = Table(say("What the camera does"), facts, row_px=20, ruled=True)
        column.addWidget(self.camera)
        about = say("What the typed air means. Empty where it is not known.")
        column.addLayout(heading(say("Air"), about))
        self.typed = {
            key: KeyRow(
                self._store,
                f"shoots.{name}.conditions.{key}",
                label,
                say("Shoot {name}", name=name),
            )
            for key, label in _AIR
        }
        for row in self.typed.values():
            column.addWidget(row)
        self.air = Table(say("Air"), facts, row_px=20, ruled=True)
        column.addWidget(self.air)
        column.addLayout(heading(say("Two legal twilights"), CHECK_RULES))
        self.twilights = Text("", wraps=True), Text("", wraps=True)
        for text in self.twilights:
            column.addWidget(text)

    def refresh(self) -> None:
        """Show the active shoot as it stands."""
        seen, motion = self._seen, self._store.motion(self._store.active)
        if motion is None:
            return
        self.subjects.show_rows(subject_rows(motion))
        self.camera.show_rows(camera_rows(motion))
        self.air.show_rows(air_rows(self._plan, seen, motion))
        for row in self.typed.values():
            row.refresh()
        for text, told in zip(self.twilights, (by_the_sun(seen), by_the_clock(seen)), strict=True):
            text.show_text(told)
