"""The log of an evening, kept from one opening of the window to the next."""

from __future__ import annotations

from app.settings import settings
from core.export.plain import place_digest
from core.fieldlog import FieldLog, log_of, log_text
from core.plan import Plan, ShootName


class KeptLog:
    """One log for each place, night and shoot."""

    def __init__(self) -> None:
        self.log = FieldLog()
        self._key: str | None = None

    def turn_to(self, plan: Plan, name: ShootName) -> bool:
        """Take up the log of a shoot's evening; whether it is another one than before."""
        shoot = plan.shoot(name)
        key = f"field_log/{place_digest(plan.place)}-{name}-{shoot.date}-{shoot.twilight}"
        if key == self._key:
            return False
        self._key = key
        self.log = log_of(str(settings().value(key, "") or ""))
        return True

    def put(self, log: FieldLog) -> None:
        """Keep a log in the place of what was noted so far."""
        self.log = log
        if self._key is not None:
            settings().setValue(self._key, log_text(log))
