"""The first line of every window: whether the shoot holds, and when to press."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.clocks import span_words
from core.findings import Finding
from core.judge import Limit
from core.language import say, say_count
from core.outlook import Outlook
from core.starts import Starts
from core.takewords import take_texts
from core.words import (
    after_event_text,
    chance_text,
    clock_text,
    cut_down,
)  # fmt: skip

_LIMIT_SENTENCES: Final[dict[Limit, str]] = {
    "street_high": say("The street burns."),
    "street_low": say("The street goes dark."),
    "land_high": say("The land burns."),
    "land_low": say("The land goes dark."),
    "sky_clip": say("The sky burns."),
    "lamps": say("The lamps are not on."),
}


@dataclass(frozen=True)
class Verdict:
    """A shoot in a sentence.

    `first` is the fact ('Holds.'), `sentence` what to do or what fails, `fails` what fails
    without since when and the way out ('' where nothing does), `sure` the sure
    starts or that there are none ('' while unknown or where it does not hold), `settings`
    the words of the settings line. It speaks of light, camera and battery, never of
    permission.
    """

    first: str
    sentence: str
    sure: str
    settings: tuple[str, ...]
    fails: str = ""

    @property
    def holds(self) -> bool:
        """Whether nothing fails."""
        return not self.fails

    @property
    def line(self) -> str:
        """Fact and sentence in one."""
        return f"{self.first} {self.sentence}"


def verdict_of(seen: Outlook, findings: Sequence[Finding] | None, starts: Starts | None) -> Verdict:
    """Put a shoot in a sentence.

    Parameters
    ----------
    findings
        Of the plan as it stands; None while they are not known yet, then the numbers at
        hand decide and cautions are not counted.
    starts
        Every start of the night; None while they are not known yet.
    """
    mine = [f for f in findings or () if f.shoot == seen.name]
    problems = [f for f in mine if f.severity == "stop"]
    cautions = sum(f.severity == "warn" for f in mine)
    settings = (*settings_words(seen), *_chance_words(seen, starts))
    if problems:
        return Verdict(say("Does not hold."), problems[0].text, "", settings, problems[0].fact)
    failure = _failure(seen)
    if failure is not None:
        return Verdict(say("Does not hold."), failure, "", settings, failure)
    first = (
        say_count("Holds, {count} caution.", "Holds, {count} cautions.", cautions)
        if cautions
        else say("Holds.")
    )
    return Verdict(
        first, say("Press at {press}.", press=press_text(seen)), sure_text(seen, starts), settings
    )


def sure_text(seen: Outlook, starts: Starts | None) -> str:
    """The sure starts, or the plain statement that there are none."""
    if starts is None:
        return ""
    if starts.sure_s is None:
        return say("None is sure (best {chance}).", chance=best_chance_text(starts))
    return say("Sure {span}.", span=span_words(seen.night, *starts.sure_s))


def best_chance_text(starts: Starts) -> str:
    """The best chance of the night in tenths: '7 in 10'."""
    best = float(starts.p_hold.max())
    tenths = min(9, int(cut_down(10.0 * best)))
    return say("{tenths} in 10", tenths=tenths) if tenths > 1 else chance_text(best)


def _chance_words(seen: Outlook, starts: Starts | None) -> tuple[str, ...]:
    chance = starts.chance_at(seen.press_s) if starts else None
    return () if chance is None else (say("holds {chance}", chance=chance_text(chance)),)


def press_text(seen: Outlook) -> str:
    """When to press: '19:22:10, 43 min after sunset'."""
    clock = clock_text(seen.night.clock(seen.press_s), seconds=True)
    minutes = seen.shoot.start_after_event_min
    return f"{clock}, {after_event_text(seen.night.event.name, minutes)}"


def settings_words(seen: Outlook) -> tuple[str, ...]:
    """The settings line, word by word."""
    shoot, clip = seen.shoot, seen.clip
    return take_texts(shoot, shoot.interval_s, clip.frames, clip.clip_length_s)


def _failure(seen: Outlook) -> str | None:
    """What fails by the numbers at hand, before the findings have caught up."""
    if seen.clip.write == "skips":
        return say("Shutter and write time are longer than the interval.")
    if seen.judgement.slack_stops < 0.0 and seen.judgement.limit is not None:
        return _LIMIT_SENTENCES[seen.judgement.limit]
    if seen.flight.error is not None:
        return seen.flight.error
    return None if seen.flight.fits else say("The battery ends before the last frame.")
