"""Running the program's commands in this process, for tests."""

from __future__ import annotations

import contextlib
import io
import re

from app.cli import main

#: Words that no answer says.
BANNED = re.compile(
    r"\b(go|no-go|ok|okay|safe|allowed|error|invalid|warning|please|traceback)\b|!", re.IGNORECASE
)


def run(*words: str) -> tuple[int, str, str]:
    """Run the program in this process: status, standard output, standard error."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(words)
    return status, out.getvalue(), err.getvalue()


def answered(*words: str) -> str:
    """What a command prints, having checked that it did and, of a page to read, its words."""
    status, out, err = run(*words)
    assert (status, err) == (0, "")
    # The keys of the JSON are fixed, and need not be words for a pilot.
    if not any("json" in word for word in words):
        assert BANNED.search(out) is None
    return out


def refused(*words: str) -> str:
    """The one sentence, having checked that it is one and that nothing else was said."""
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert err.endswith((".\n", "?\n"))
    assert BANNED.search(err) is None
    return err
