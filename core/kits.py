"""Crafts and cameras to start from, and the pilot's own kept beside them.

The ready ones are generic classes: two speeds describe a craft's power curve, a lens its
equivalent focal length and f-numbers. A kit is taken into a plan whole.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Final, Literal

import msgspec

from core.edit import PlanError, new_plan, with_values
from core.language import say
from core.plan import Camera, Craft, Plan

KitKind = Literal["craft", "camera"]
Kit = Craft | Camera

#: Hover induced speed from mass and rotor discs by momentum theory (Leishman 2006, eq. 2.15, its
#: number from memory; at 1.184 kg/m³): 4 × 152, 185 and 238 mm. Drag speed, rated time, size and
#: wind limit are round figures of the class: common practice, no source.
_CRAFTS: Final[Mapping[str, Craft]] = {
    say("250 g class"): Craft(),
    say("600 g class"): Craft(
        mass_kg=0.595,
        hover_induced_m_s=4.79,
        drag_speed_m_s=22.5,
        rated_min=32.0,
        wind_limit_m_s=12.0,
        climb_m_s=5.0,
        diameter_m=0.4,
    ),
    say("900 g class"): Craft(
        mass_kg=0.9,
        hover_induced_m_s=4.58,
        drag_speed_m_s=24.0,
        rated_min=40.0,
        wind_limit_m_s=12.0,
        climb_m_s=6.0,
        diameter_m=0.5,
    ),
}
#: Round lenses of the trade: common practice, no source.
_CAMERAS: Final[Mapping[str, Camera]] = {
    say("24 mm, f/1.8 fixed"): Camera(),
    say("24 mm, f/2.8 to f/11"): Camera(
        f_numbers=(2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0, 10.0, 11.0),
        isos=(100.0, 200.0, 400.0, 800.0, 1600.0, 3200.0),
        frame_mb=40.0,
    ),
    say("70 mm, f/2.8 fixed"): Camera(focal_equivalent_mm=70.0, f_numbers=(2.8,), frame_mb=40.0),
}
READY: Final[Mapping[KitKind, Mapping[str, Kit]]] = {"craft": _CRAFTS, "camera": _CAMERAS}
#: Any plan does to try a kit in.
_PLAN: Final = new_plan("Library", 0.0, 0.0, dt.date(2026, 1, 1), "UTC")
_LONGEST_NAME = 60
_NAMELESS: Final[Mapping[KitKind, str]] = {
    "craft": say("Name is empty; a name for this craft was expected."),
    "camera": say("Name is empty; a name for this camera was expected."),
}
_READY_ONE: Final[Mapping[KitKind, str]] = {
    "craft": say("'{name}' is a ready craft and stays as it is: choose another name."),
    "camera": say("'{name}' is a ready camera and stays as it is: choose another name."),
}


class Library(msgspec.Struct, frozen=True, kw_only=True):
    """The pilot's own kits by name."""

    crafts: dict[str, Craft] = {}
    cameras: dict[str, Camera] = {}

    def own(self, kind: KitKind) -> Mapping[str, Kit]:
        """The pilot's kits of a kind."""
        return self.crafts if kind == "craft" else self.cameras

    def every(self, kind: KitKind) -> dict[str, Kit]:
        """The ready kits of a kind, then the pilot's."""
        return {**READY[kind], **self.own(kind)}

    def name_of(self, kind: KitKind, kit: Kit) -> str:
        """The name under which a kit is kept, the pilot's before a ready one's; '' for none."""
        every = self.every(kind)
        return next((name for name in reversed(every) if every[name] == kit), "")


def with_kit(library: Library, kind: KitKind, name: str, kit: Kit) -> Library:
    """Keep a kit under a name, in place of the pilot's own of that name.

    Raises
    ------
    PlanError
        With one sentence, for a name that is empty, too long, or a ready kit's.
    """
    plain = " ".join(name.split())
    if not plain:
        raise PlanError(_NAMELESS[kind])
    if len(plain) > _LONGEST_NAME:
        raise PlanError(
            say(
                "Name has {length} characters; at most {most} were expected.",
                length=len(plain),
                most=_LONGEST_NAME,
            )
        )
    if plain in READY[kind]:
        raise PlanError(_READY_ONE[kind].format(name=plain))
    return _changed(library, kind, {**library.own(kind), plain: kit})


def without_kit(library: Library, kind: KitKind, name: str) -> Library:
    """Forget the pilot's kit of a name; one that is not there is no fault."""
    return _changed(library, kind, {k: v for k, v in library.own(kind).items() if k != name})


def library_from(text: bytes) -> Library:
    """Read a library as `library_text` writes it.

    Raises
    ------
    PlanError
        With one sentence, when it is no library or a kit in it cannot stand.
    """
    try:
        raw = msgspec.json.decode(text, type=dict[str, dict[str, object]])
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        raise PlanError(say("The library of crafts and cameras holds no library.")) from None
    return Library(
        crafts={k: _checked(k, "craft", v).craft for k, v in raw.get("crafts", {}).items()},
        cameras={k: _checked(k, "camera", v).camera for k, v in raw.get("cameras", {}).items()},
    )


def _checked(name: str, kind: KitKind, kit: object) -> Plan:
    """A plan with a kit in it: what cannot stand in a plan is refused by the plan's own rules."""
    try:
        return with_values(_PLAN, {kind: kit}, "file")
    except PlanError as refusal:
        raise PlanError(
            say(
                "'{name}' in the library of crafts and cameras: {refusal}",
                name=name,
                refusal=refusal,
            )
        ) from None


def library_text(library: Library) -> bytes:
    """Write a library as JSON, for a hand to read too."""
    return msgspec.json.format(msgspec.json.encode(library), indent=2) + b"\n"


def _changed(library: Library, kind: KitKind, kits: Mapping[str, Kit]) -> Library:
    names = {"craft": "crafts", "camera": "cameras"}
    return msgspec.structs.replace(library, **{names[kind]: dict(kits)})
