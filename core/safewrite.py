"""Writing a file whole or not at all, and why a file cannot be used, in plain words."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import secrets
import stat
from pathlib import Path

from core.language import say

#: No plan takes so long to write: what was begun earlier belongs to a process that was killed.
_STALE_S = 3600.0
#: Separators here or on another system (Windows: 'Naming Files, Paths, and Namespaces'), and room
#: for a date and an end within the 255 bytes of most disks.
_NOT_IN_NAMES, _STEM_BYTES = '/\\:*?"<>|', 160


def reason_text(refusal: OSError | ValueError) -> str:
    """Say in plain words why the system refused a file: 'the disk is full'."""
    if not isinstance(refusal, OSError):
        # As Python refuses such a name.
        null = str(refusal).startswith("embedded null")
        return say("the name holds a null character") if null else str(refusal)
    code = refusal.errno or 0
    reason = errno.errorcode.get(code) or say("no reason")
    return _reasons().get(code) or say("the system refused it ({reason})", reason=reason)


def _reasons() -> dict[int, str]:
    """Why the system refuses a file, by its number.

    Not looked up once, as other tables of texts are: this module comes before the language is
    chosen, which is kept in a file too.
    """
    return {
        errno.ENOENT: say("it is not there"),
        errno.ENOTDIR: say("its folder is not there"),
        errno.EACCES: say("this user has no right to it"),
        errno.EPERM: say("this user has no right to it"),
        errno.EROFS: say("the disk can only be read"),
        errno.ENOSPC: say("the disk is full"),
        errno.EDQUOT: say("this user's share of the disk is full"),
        errno.EFBIG: say("it is too large for the disk"),
        errno.ENAMETOOLONG: say("the name is too long"),
        errno.EISDIR: say("it is a folder"),
        errno.ELOOP: say("its links lead round in a circle"),
        errno.EIO: say("the disk does not answer"),
    }


def unwritten_text(refusal: OSError | ValueError) -> str:
    """Why a file was not written; one that is to be made is never missing, its folder is."""
    if isinstance(refusal, FileNotFoundError | NotADirectoryError):
        return say("its folder is not there, or no file can be made in it; choose another folder")
    return reason_text(refusal)


def file_name(path: str | os.PathLike[str]) -> str:
    """Return a file's name for a sentence, whatever bytes it is made of."""
    plain = os.fspath(path)
    return (Path(plain).name or plain or ".").encode(errors="replace").decode()


def file_stem(text: str) -> str:
    """Return a text as the beginning of a file's name that every usual disk can hold."""
    words = "".join(" " if c in _NOT_IN_NAMES or not c.isprintable() else c for c in text).split()
    whole = " ".join(words).strip(". ").encode(errors="replace")[:_STEM_BYTES]
    return whole.decode(errors="ignore").strip() or say("Plan")


def check_replaceable(target: Path) -> None:
    """Raise ValueError where a file must not be put: over a folder, a device, what is protected."""
    if not target.exists():
        return
    if not target.is_file():
        raise ValueError(say("a folder or a device has this name"))
    if not os.access(target, os.W_OK):
        raise ValueError(say("the file is protected against writing"))


def write_whole(target: Path, content: bytes) -> None:
    """Replace a file, or make it, so that its name never holds half of anything.

    The content is written beside the target, flushed to the disk and then takes
    the name; the mode of the file that was there is kept. What a killed write of
    the same target left is cleared afterwards.

    Raises
    ------
    OSError
        When it cannot be written; the file that was there is untouched.
    """
    beside = target.with_name(f"{_part_stem(target)}{secrets.token_hex(6)}.part")
    try:
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileNotFoundError):
            beside.chmod(stat.S_IMODE(target.stat().st_mode))
        beside.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise
    _settle(target.parent)
    with contextlib.suppress(OSError):
        # By the disk's own clock, which may not be this computer's.
        clear_stale_parts(target, target.stat().st_mtime)


def clear_stale_parts(target: Path, now_s: float) -> None:
    """Remove what writes of a target left beside it that were killed more than an hour ago.

    Parameters
    ----------
    target
        The file that was being written; other files' leftovers stay, and so does
        whatever this program did not name.
    now_s
        The time by the clock of the disk, in UTC seconds.
    """
    ours = re.compile(re.escape(_part_stem(target)) + r"[0-9a-f]{12}\.part")
    with contextlib.suppress(OSError), os.scandir(target.parent) as entries:
        for entry in entries:
            if ours.fullmatch(entry.name) and entry.is_file(follow_symlinks=False):
                with contextlib.suppress(OSError):
                    if now_s - entry.stat(follow_symlinks=False).st_mtime > _STALE_S:
                        Path(entry.path).unlink()


def _part_stem(target: Path) -> str:
    """How the names of a target's unfinished files begin; no two targets' begin alike."""
    digest = hashlib.blake2b(os.fsencode(target.name), digest_size=6).hexdigest()
    return f".{target.name[:32]}.{digest}."


def _settle(folder: Path) -> None:
    """Have the new name on the disk too; not every system can, and the file is whole by now."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
