"""Lines of one width, as every page of text has them."""

from __future__ import annotations

from core.pages import WIDTH, wrapped


def test_a_figure_and_its_percent_sign_stay_on_one_line() -> None:
    for length in range(WIDTH - 8, WIDTH + 1):
        text = f"{'x' * length} 40 % of the take"
        lines = wrapped(text)
        assert " ".join(lines) == text
        assert not any(line.startswith("%") for line in lines)
