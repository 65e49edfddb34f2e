"""Saving a plan file: whole or not at all, and nothing else in the folder is touched."""

from __future__ import annotations

import datetime as dt
import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from msgspec.structs import replace

from core.edit import PlanError, with_values
from core.plan import Place, Plan, Shoot, Shoots
from core.planfile import Document, PlanFileError, load, read, save
from core.plantext import parsed
from core.safewrite import clear_stale_parts, write_whole

ROOT = Path(__file__).resolve().parent.parent.parent
DATE = dt.date(2026, 10, 17)
PLAN = Plan(
    place=Place(name="Old Quay", latitude_deg=45.1, longitude_deg=12.3),
    shoots=Shoots(A=Shoot(date=DATE), B=Shoot(date=DATE, iso=400.0)),
)


def test_a_file_that_is_no_plan_is_replaced_only_on_purpose(tmp_path: Path) -> None:
    path = tmp_path / "bad.duskplan"
    path.write_text("notes of my own")
    with pytest.raises(PlanFileError, match=r"bad\.duskplan is not JSON"):
        save(PLAN, path)
    assert path.read_text() == "notes of my own"
    save(PLAN, path, replace_unread=True)
    assert load(path) == PLAN


def test_a_plan_that_cannot_stand_is_not_saved(tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    wrong = replace(PLAN, place=replace(PLAN.place, latitude_deg=99.0))
    with pytest.raises(PlanError, match=r"^place\.latitude_deg is 99"):
        save(wrong, path)
    assert list(tmp_path.iterdir()) == []


def test_the_mode_of_a_file_and_a_link_to_it_stay(tmp_path: Path) -> None:
    path, link = tmp_path / "quay.duskplan", tmp_path / "link.duskplan"
    save(PLAN, path)
    path.chmod(0o640)
    link.symlink_to(path)
    save(with_values(PLAN, {"shoots.A.iso": 800.0}), link)
    assert link.is_symlink()
    assert load(path).shoots.A.iso == 800.0
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_has_the_mode_that_the_user_wants(tmp_path: Path) -> None:
    mask = os.umask(0o027)
    try:
        save(PLAN, tmp_path / "quay.duskplan")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "quay.duskplan").stat().st_mode) == 0o640


def test_where_no_file_can_be_written_nothing_is(tmp_path: Path) -> None:
    folder = tmp_path / "folder.duskplan"
    folder.mkdir()
    cases = {
        folder: "a folder or a device has this name",
        tmp_path / "nowhere" / "quay.duskplan": "its folder is not there, or no file can be made"
        " in it; choose another folder",
        tmp_path / ("n" * 300): "the name is too long",
    }
    for path, reason in cases.items():
        with pytest.raises(PlanFileError) as caught:
            save(PLAN, path)
        assert str(caught.value) == f"{path.name} was not saved: {reason}."
    assert list(tmp_path.iterdir()) == [folder]
    assert list(folder.iterdir()) == []


def test_a_file_protected_against_writing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    save(PLAN, path)
    before = path.read_bytes()
    # The user of a test run may write anywhere, so the answer is given here.
    monkeypatch.setattr("os.access", lambda _path, mode: mode != os.W_OK)
    with pytest.raises(PlanFileError, match="not saved: the file is protected against writing"):
        save(with_values(PLAN, {"shoots.A.iso": 800.0}), path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("code", "reason"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EIO, "the disk does not answer"),
        (errno.EROFS, "the disk can only be read"),
        (errno.EACCES, "this user has no right to it"),
        (errno.EXDEV, "the system refused it (EXDEV)"),
    ],
)
@pytest.mark.parametrize("step", ["os.fsync", "pathlib.Path.replace", "pathlib.Path.open"])
def test_when_the_disk_refuses_the_old_file_is_whole_and_nothing_else_left(
    step: str, code: int, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    save(PLAN, path)
    before = path.read_bytes()

    def refuse(*_args: object, **_kwargs: object) -> None:
        raise OSError(code, os.strerror(code))

    changed = with_values(PLAN, {"shoots.A.iso": 800.0})
    with monkeypatch.context() as patch:
        patch.setattr("core.planfile._bytes_of", lambda _path: before)
        patch.setattr(step, refuse)
        with pytest.raises(PlanFileError) as caught:
            save(changed, path)
    assert str(caught.value) == f"quay.duskplan was not saved: {reason}."
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_cannot_be_synchronised_takes_the_new_file_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    real = os.fsync

    def only_files(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "")
        real(handle)

    monkeypatch.setattr("os.fsync", only_files)
    save(PLAN, path)
    assert load(path) == PLAN


def test_what_is_saved_is_flushed_before_it_takes_the_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    whole = Document(PLAN).text()
    steps: list[str] = []
    real = os.fsync

    def note(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            steps.append("folder" if path.exists() else "folder too early")
        else:
            steps.append(f"file {os.fstat(handle).st_size} {path.exists()}")
        real(handle)

    monkeypatch.setattr("os.fsync", note)
    save(PLAN, path)
    assert steps == [f"file {len(whole)} False", "folder"]


KILLED_AT_EVERY_STEP = """
import os, random, signal, sys, time
from pathlib import Path
from core.edit import with_values
from core.planfile import load, save

path = Path(sys.argv[1])
old = load(path)
plans = [old, with_values(old, {"place.name": "x" * 200, "camera.isos": [100.0] * 20000})]

def child(work):
    pid = os.fork()
    if pid == 0:
        work()
        os._exit(0)
    return pid

def killed_at(step):
    # Ends the process as a power cut would, before the step-th call into the system or C.
    def work():
        left = step
        def count(frame, event, argument):
            nonlocal left
            if event == "c_call":
                left -= 1
                if left < 0:
                    os.kill(os.getpid(), signal.SIGKILL)
        sys.setprofile(count)
        from core.safewrite import write_whole
        write_whole(path, texts[step % 2])
        sys.setprofile(None)
    return os.waitstatus_to_exitcode(os.waitpid(child(work), 0)[1])

from core.planfile import Document
texts = [Document(plan).text() for plan in plans]
step = 0
while True:
    code = killed_at(step)
    assert path.read_bytes() in texts, step
    assert load(path) in plans, step
    if code == 0:
        break
    assert code == -signal.SIGKILL, code
    step += 1
assert path.read_bytes() == texts[step % 2]

def forever():
    while True:
        for plan in plans:
            save(plan, path)

draw = random.Random(7)
for _ in range(20):
    pid = child(forever)
    time.sleep(draw.uniform(0.0, 0.03))
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    assert path.read_bytes() in texts
save(old, path)
print(step)
"""


def test_a_kill_at_any_step_leaves_the_whole_old_or_the_whole_new_plan(tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    save(PLAN, path)
    done = subprocess.run(
        [sys.executable, "-W", "ignore::DeprecationWarning", "-c", KILLED_AT_EVERY_STEP, str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 10
    assert load(path) == PLAN


def test_documents_are_equal_when_their_plans_and_texts_are(tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    written = save(PLAN, path)
    assert written == read(path)
    assert written != Document(PLAN)
    assert parsed(written.text()) == parsed(Document(PLAN).text())


# What a kill left behind.


def _killed_write(target: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Write a file as a killed process would, and return what is left beside it."""
    before = set(target.parent.iterdir())

    def killed(*_args: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("pathlib.Path.replace", killed)
        patch.setattr("pathlib.Path.unlink", killed)
        with pytest.raises(KeyboardInterrupt):
            write_whole(target, b"half")
    (left,) = set(target.parent.iterdir()) - before
    return left


def _aged(path: Path, seconds: float) -> None:
    then = path.stat().st_mtime - seconds
    os.utime(path, (then, then))


def test_saving_clears_what_a_killed_save_left_an_hour_ago(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    old, new = _killed_write(path, monkeypatch), _killed_write(path, monkeypatch)
    _aged(old, 3700.0)
    _aged(new, 3500.0)
    save(PLAN, path)
    # The younger one may be another process's that is still at it.
    assert set(tmp_path.iterdir()) == {path, new}


def test_nothing_but_its_own_leftovers_is_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    long = "q" * 40
    path, alike = tmp_path / f"{long}.duskplan", tmp_path / f"{long}2.duskplan"
    own, other = _killed_write(path, monkeypatch), _killed_write(alike, monkeypatch)
    # Names that differ in one place from those this program gives, and no plain files.
    stem = own.name.removesuffix(".part")
    near = [f"{stem}.part2", f"{stem}0.part", f"{stem[:-1]}g.part", own.name[1:], f"{stem}.PART"]
    for name in near:
        (tmp_path / name).write_text("somebody's")
    kept = {tmp_path / name for name in near} | {other, path}
    link = tmp_path / f"{stem[:-12]}{'0' * 12}.part"
    folder = tmp_path / f"{stem[:-12]}{'1' * 12}.part"
    folder.mkdir()
    target = tmp_path / "elsewhere"
    target.write_text("somebody's")
    link.symlink_to(target)
    kept |= {folder, link, target}
    path.write_text("")
    clear_stale_parts(path, own.stat().st_mtime + 90_000.0)
    assert set(tmp_path.iterdir()) == kept


def test_a_folder_that_cannot_be_looked_through_is_left(tmp_path: Path) -> None:
    clear_stale_parts(tmp_path / "nowhere" / "quay.duskplan", 1e12)
    assert list(tmp_path.iterdir()) == []


def test_a_leftover_that_cannot_be_removed_does_not_hinder_a_save(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    left = _killed_write(path, monkeypatch)
    _aged(left, 3700.0)

    def refuse(*_args: object, **_kwargs: object) -> None:
        raise PermissionError(errno.EACCES, "")

    monkeypatch.setattr("pathlib.Path.unlink", refuse)
    save(PLAN, path)
    assert load(path) == PLAN
    assert left.exists()


# A file that somebody else changed.


def test_a_file_that_holds_other_bytes_than_known_is_not_replaced(tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    known = save(PLAN, path).source
    changed = with_values(PLAN, {"shoots.A.iso": 800.0})
    written = save(changed, path, known=known).source
    for content in (known, b"", b"notes of my own"):
        assert content is not None
        path.write_bytes(content)
        with pytest.raises(PlanFileError, match="was changed on the disk since it was last"):
            save(PLAN, path, known=written)
        assert path.read_bytes() == content
    path.unlink()
    save(PLAN, path, known=written)
    assert load(path) == PLAN
