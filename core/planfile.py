"""Plan files: NAME.duskplan.

A file of the same major version opens, and the keys it has that no plan knows
are kept when it is saved again. At any moment the name of a file holds either
the whole old plan or the whole new one.
"""

from __future__ import annotations

import errno
import json
import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path

import msgspec

from core.edit import PlanError, checked, plan_from
from core.language import say
from core.plan import Plan
from core.plantext import PlanTextError, parsed, with_unknown_keys
from core.safewrite import check_replaceable, file_name, reason_text, unwritten_text, write_whole
from core.sentences import shown

SUFFIX = ".duskplan"
_MAJOR = 1
_LARGEST_BYTES = 64_000_000

FilePath = str | os.PathLike[str]


class PlanFileError(PlanError):
    """A plan file that cannot be read or written; the text is one sentence."""


@dataclass(frozen=True)
class Document:
    """A plan and the text of the file it came from, None for a plan not yet in a file.

    The text is held for the keys in it that no plan knows.
    """

    plan: Plan
    source: bytes | None = None

    def text(self) -> bytes:
        """Return the whole file: known keys in the order of the plan, then unknown ones.

        Raises PlanError when the plan cannot stand.
        """
        raw: object = msgspec.to_builtins(checked(self.plan))
        if self.source is not None:
            raw = with_unknown_keys(raw, parsed(self.source))
        return f"{json.dumps(raw, indent=2, ensure_ascii=False, allow_nan=False)}\n".encode()


def read(path: FilePath) -> Document:
    """Return the plan in a file together with what must be kept of the file.

    Raises
    ------
    PlanFileError
        One sentence that names the file and, where one is wrong, the key and
        what was expected. The file stays as it is.
    """
    name = file_name(path)
    try:
        source = _bytes_of(Path(path))
        return Document(_plan_of(source), source)
    except PlanTextError as refusal:
        raise PlanFileError(f"{name} {refusal}") from None
    except PlanError as refusal:
        raise PlanFileError(
            say("{name} cannot be opened: {refusal}", name=name, refusal=refusal)
        ) from None
    except FileNotFoundError:
        raise PlanFileError(
            say("{name} is not there: check its name and folder.", name=name)
        ) from None
    except (OSError, ValueError) as refusal:
        raise PlanFileError(
            say("{name} cannot be read: {reason}.", name=name, reason=reason_text(refusal))
        ) from None


def load(path: FilePath) -> Plan:
    """Return the plan in a file; raises PlanFileError as `read` does."""
    return read(path).plan


def save(
    plan: Plan | Document,
    path: FilePath,
    *,
    known: bytes | None = None,
    replace_unread: bool = False,
) -> Document:
    """Write a plan to a file, whole or not at all, and return it with its new text.

    Unknown keys are kept: those of the document's source, or for a bare plan
    those of the file that it replaces. A file that is there but cannot be read
    as a plan, or belongs to a newer version, is replaced only on
    `replace_unread`. With `known`, the bytes that the file held when it was last
    read or written here, a file that holds others by now is not replaced.

    Raises
    ------
    PlanError
        When the plan cannot stand.
    PlanFileError
        When the file cannot be written, or one would be lost; it is untouched then.
    """
    try:
        # A link is followed, so that it stays one.
        target = Path(os.path.realpath(path))
        there = _what_is_there(target, known, replace_unread=replace_unread)
        source = there.source if there else None
        document = plan if isinstance(plan, Document) else Document(plan, source)
        text = document.text()
        write_whole(target, text)
    except PlanError:
        raise
    except (OSError, ValueError) as refusal:
        raise PlanFileError(
            say(
                "{file} was not saved: {unwritten}.",
                file=file_name(path),
                unwritten=unwritten_text(refusal),
            )
        ) from None
    return Document(document.plan, text)


def _bytes_of(path: Path) -> bytes:
    """Return what a file holds; a pipe would never end, so only a file is opened."""
    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        raise IsADirectoryError(errno.EISDIR, "")
    if not stat.S_ISREG(status.st_mode):
        raise ValueError(say("it is not a file"))
    if status.st_size > _LARGEST_BYTES:
        raise ValueError(say("it has more than 64 MB, far more than a plan"))
    return path.read_bytes()


def _plan_of(source: bytes) -> Plan:
    raw = parsed(source)
    if not isinstance(raw, dict):
        raise PlanTextError(say("holds {raw}; a plan was expected.", raw=shown(raw)))
    if "schema" not in raw:
        raise PlanError(say('schema is missing; "1.0" was expected.'))
    version = re.fullmatch(r"([0-9]{1,9})\.[0-9]{1,9}(?:\.[0-9]{1,9})?", str(raw["schema"]))
    if version and int(version[1]) > _MAJOR:
        raise PlanTextError(
            say(
                "was written by a newer version (schema {version}, this one reads "
                "{major}.x); it is untouched, open it with the newer version.",
                version=version[0],
                major=_MAJOR,
            )
        )
    return plan_from(raw)


def _what_is_there(target: Path, known: bytes | None, *, replace_unread: bool) -> Document | None:
    """Return the plan that a file to be replaced holds, None when there is none to keep."""
    check_replaceable(target)
    if not target.exists():
        return None
    if known is not None and _bytes_of(target) != known:
        raise PlanFileError(
            say(
                "Nothing was saved, because {file} was changed on the disk since it was "
                "last opened or saved here: save this plan under another name, or open the "
                "file again.",
                file=file_name(target),
            )
        )
    try:
        return read(target)
    except PlanFileError as refusal:
        if replace_unread:
            return None
        raise PlanFileError(
            say(
                "Nothing was saved, because a file that would be lost is there: {refusal}",
                refusal=refusal,
            )
        ) from None
