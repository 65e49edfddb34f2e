"""Giving an answer again while the question is the same."""

from __future__ import annotations

from collections.abc import Callable
from operator import is_
from typing import Generic, TypeVar

Answer = TypeVar("Answer")


class Last(Generic[Answer]):
    """The last answer to a question.

    What the forecast remembers stays the same object while nothing that it reads changes:
    such parts are told apart by identity, which costs nothing, figures by their value.
    """

    def __init__(self) -> None:
        self._known: tuple[tuple[object, ...], tuple[object, ...], Answer] | None = None

    def of(
        self,
        parts: tuple[object, ...],
        figures: tuple[object, ...],
        answer: Callable[[], Answer],
    ) -> Answer:
        """The answer for these parts, the very same objects, and these figures."""
        known = self._known
        if known is not None:
            old_parts, old_figures, last = known
            same = len(parts) == len(old_parts) and all(map(is_, parts, old_parts))
            if same and figures == old_figures:
                return last
        fresh = answer()
        self._known = parts, figures, fresh
        return fresh
