"""What the pilot should know about a shoot: problems and cautions, each with its way out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.language import say
from core.plan import ShootName

Severity = Literal["stop", "warn", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "warn", "note")

#: Stands among the findings of every plan, and below every page.
CHECK_RULES = say("Check the local rules and your licence.")


@dataclass(frozen=True)
class Remedy:
    """A change that mends a finding: the words for its button, and the plan's new values."""

    label: str
    values: tuple[tuple[str, object], ...]


@dataclass(frozen=True)
class Finding:
    """One thing to know. `fact` says what and how much; `rest` since when and the way out."""

    severity: Severity
    code: str
    shoot: ShootName
    fact: str
    rest: str = ""
    remedies: tuple[Remedy, ...] = ()

    @property
    def text(self) -> str:
        """The whole of it in one line."""
        return f"{self.fact} {self.rest}".strip()
