"""Remembering the last few results of each stage."""

from __future__ import annotations

from collections.abc import Callable

from core.manner import Manner, adopt
from core.measures import length_text
from core.memory import Memory


def counting(calls: list[str], name: str) -> Callable[[], str]:
    def compute() -> str:
        calls.append(name)
        return name

    return compute


def test_it_computes_once_for_each_key() -> None:
    memory = Memory()
    calls: list[str] = []
    for key in (1, 2, 1, 1):
        assert memory.recall("light", key, counting(calls, f"light {key}")) == f"light {key}"
    assert calls == ["light 1", "light 2"]


def test_stages_do_not_mix() -> None:
    memory = Memory()
    calls: list[str] = []
    memory.recall("light", 1, counting(calls, "light"))
    assert memory.recall("night", 1, counting(calls, "night")) == "night"
    assert memory.knows("light", 1)
    assert not memory.knows("tones", 1)


def test_the_longest_unused_is_forgotten_first() -> None:
    memory = Memory(entries=2)
    calls: list[str] = []
    for key in ("a", "b", "a", "c"):
        memory.recall("light", key, counting(calls, key))
    assert memory.knows("light", "a")
    assert not memory.knows("light", "b")
    assert memory.recall("light", "b", counting(calls, "b")) == "b"
    assert calls == ["a", "b", "c", "b"]


def test_what_fails_is_not_remembered() -> None:
    memory = Memory()
    calls: list[str] = []

    def fail() -> str:
        raise ValueError("once")

    try:
        memory.recall("light", 1, fail)
    except ValueError:
        calls.append("failed")
    assert not memory.knows("light", 1)
    assert memory.recall("light", 1, counting(calls, "well")) == "well"
    assert calls == ["failed", "well"]


def test_what_was_told_while_the_manner_changed_is_not_told_again() -> None:
    memory = Memory()

    def told() -> str:
        adopt(Manner(units="imperial"))  # by the pilot, while another thread works
        return length_text(100.0)

    assert memory.recall("height", 1, told) == "328 ft"
    adopt(Manner())
    assert memory.recall("height", 1, lambda: length_text(100.0)) == "100 m"
