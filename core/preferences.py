"""What a pilot would like best and what is still accepted: the trade's habits to begin with.

All defaults are common practice, no source. Ranges stand beside each field, as in
`core.plan`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import msgspec
from msgspec import Meta

from core.edit import PlanError
from core.language import say
from core.sentences import shown
from core.words import number_text

#: What a preference is called at the head of a sentence, and within one.
Called = tuple[str, str]
_Seconds = Annotated[float, Meta(ge=0.2, le=600.0)]
_Shutter = Annotated[float, Meta(ge=0.0001, le=120.0)]
_Iso = Annotated[float, Meta(ge=10.0, le=500000.0)]
_Length = Annotated[float, Meta(ge=0.1, le=600.0)]


class Preferences(msgspec.Struct, frozen=True, kw_only=True):
    """Preferences of one pilot; hashable.

    `intervals_wanted_s` is the shortest and the longest interval that suits traffic and
    people. A shutter as short as `shutter_accepted_s`, an ISO as high as `iso_accepted` and a
    clip as short as `clip_least_s` are taken where the wanted ones do not hold; what lies
    beyond is listed last. `bright_first_frames`: of two takes otherwise alike the one with
    the brighter first frames, so that the end still holds.
    """

    intervals_wanted_s: tuple[_Seconds, _Seconds] = (2.0, 3.0)
    shutter_wanted_s: _Shutter = 1.0
    shutter_accepted_s: _Shutter = 0.25
    iso_wanted: _Iso = 100.0
    iso_accepted: _Iso = 400.0
    clip_length_s: _Length = 12.0
    clip_least_s: _Length = 8.0
    bright_first_frames: bool = True


#: What the trade prefers.
TRADE = Preferences()


def preferences_from(
    values: Mapping[str, object], called: Mapping[str, Called] | None = None
) -> Preferences:
    """Return the trade's preferences with some values replaced, checked.

    Parameters
    ----------
    called
        What a refusal calls preferences, at its head and within it; their keys where left out.

    Raises
    ------
    core.edit.PlanError
        One sentence that names the preference that cannot stand.
    """
    names = Preferences.__struct_fields__
    calls = {name: (say("The preference {name}", name=name), name) for name in names}
    calls.update(called or {})
    for name, value in values.items():
        if name not in names:
            raise PlanError(
                say(
                    "{name} is no preference; one of {names} is.",
                    name=shown(name),
                    names=", ".join(names),
                )
            )
        try:
            msgspec.convert({name: value}, Preferences)
        except msgspec.ValidationError:
            default = msgspec.to_builtins(getattr(TRADE, name))
            like = number_text(default) if isinstance(default, float) else shown(default)
            raise PlanError(
                say(
                    "{preference} is {value}; a value like {like} was expected.",
                    preference=calls[name][0],
                    value=shown(value),
                    like=like,
                )
            ) from None
    preferences = msgspec.convert(dict(values), Preferences)
    for problem in _problems(preferences, calls):
        raise PlanError(problem)
    return preferences


def _problems(wanted: Preferences, calls: Mapping[str, Called]) -> list[str]:
    shortest_s, longest_s = wanted.intervals_wanted_s
    pairs = (
        ("intervals_wanted_s", shortest_s, longest_s, say("the shorter interval first")),
        ("shutter_accepted_s", wanted.shutter_accepted_s, wanted.shutter_wanted_s,
         say("a shutter no longer than {name}", name=calls["shutter_wanted_s"][1])),
        ("iso_wanted", wanted.iso_wanted, wanted.iso_accepted,
         say("an ISO up to {name}", name=calls["iso_accepted"][1])),
        ("clip_least_s", wanted.clip_least_s, wanted.clip_length_s,
         say("a clip no longer than {name}", name=calls["clip_length_s"][1])),
    )  # fmt: skip
    return [
        say(
            "{preference} is {value}; {expected} was expected.",
            preference=calls[name][0],
            value=shown(low),
            expected=expected,
        )
        for name, low, high, expected in pairs
        if low > high
    ]
