"""Results that nobody can change: what is remembered must stay what it was."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import TypeVar

import numpy as np

Result = TypeVar("Result")


def read_only(result: Result) -> Result:
    """Make every array of a result read-only, in its parts too, and hand it back.

    Parameters
    ----------
    result
        An array, a dataclass or a dict; anything else is left as it is.
    """
    if isinstance(result, np.ndarray):
        result.setflags(write=False)
    elif isinstance(result, dict):
        for part in result.values():
            read_only(part)
    elif is_dataclass(result):
        for field in fields(result):
            read_only(getattr(result, field.name))
    return result
