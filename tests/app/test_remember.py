"""The last answer is given again only while the question is the same."""

from __future__ import annotations

from app.remember import Last


def test_the_same_part_and_figures_ask_only_once() -> None:
    asked: list[int] = []
    last: Last[int] = Last()
    part = [1.0, 2.0]

    def answer() -> int:
        asked.append(1)
        return len(asked)

    assert last.of((part,), (3.0, "A"), answer) == 1
    assert last.of((part,), (3.0, "A"), answer) == 1
    assert last.of((part,), (3.5, "A"), answer) == 2
    assert last.of((list(part),), (3.5, "A"), answer) == 3  # equal, but another object
    assert last.of((part, part), (3.5, "A"), answer) == 4


def test_an_answer_of_none_is_an_answer() -> None:
    asked: list[int] = []
    last: Last[None] = Last()
    for _ in range(2):
        last.of((), (), lambda: asked.append(1))
    assert len(asked) == 1
