"""What one pilot likes best, kept between runs."""

from __future__ import annotations

import msgspec

from app.settings import settings
from core.edit import PlanError
from core.preferences import Preferences, preferences_from

_KEY = "preferences"


def preferences() -> Preferences:
    """The pilot's preferences; the trade's where none, or nothing usable, is kept."""
    kept = str(settings().value(_KEY, "") or "{}")
    try:
        return preferences_from(msgspec.json.decode(kept, type=dict[str, object]))
    except (PlanError, msgspec.DecodeError):
        return Preferences()


def keep_preferences(wanted: Preferences) -> None:
    """Keep the pilot's preferences for the next run."""
    settings().setValue(_KEY, msgspec.json.encode(wanted).decode())
