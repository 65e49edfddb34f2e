"""Remembering what a stage made of its inputs."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from core.manner import manner

Result = TypeVar("Result")


class Memory:
    """Results of the last few runs of each stage, by exactly the values the stage read.

    One object a window: the stages themselves stay pure functions of what they are given. Some
    tell texts among their figures, so the manner of writing is part of every key.
    """

    def __init__(self, entries: int = 6) -> None:
        self._entries = entries
        self._stages: dict[str, OrderedDict[Hashable, Any]] = {}

    def recall(self, stage: str, key: Hashable, compute: Callable[[], Result]) -> Result:
        """The stage's result for a key, computed only if it is not among the last few."""
        results = self._stages.setdefault(stage, OrderedDict())
        written = manner()
        key = (written, key)
        if key in results:
            results.move_to_end(key)
            known: Result = results[key]
            return known
        result = compute()
        # What was begun in one manner and ended in another belongs to neither.
        if manner() == written:
            results[key] = result
            if len(results) > self._entries:
                results.popitem(last=False)
        return result

    def knows(self, stage: str, key: Hashable) -> bool:
        """Whether the stage's result for a key is at hand."""
        return (manner(), key) in self._stages.get(stage, {})
