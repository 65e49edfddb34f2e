"""Nights shared with a helper: the same answers, whatever becomes of the helper."""

from __future__ import annotations

import datetime as dt
from collections import deque
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from typing import Any, NoReturn

import pytest

from app import nightwork
from app import standby as standing_by
from app.nightwork import nights_in_two, nights_standby
from core import manner
from core.edit import PlanError
from core.manner import Manner
from core.newplan import first_plan
from core.nights import NightSeen
from core.nightsreport import night_rows
from tests.manynights import nights

FIRST = dt.date(2026, 10, 18)
LAST = dt.date(2026, 11, 10)
JUNE = dt.date(2026, 6, 20)
PLAN = first_plan("Gull Tickle", 48.9, -55.7, FIRST)


@pytest.fixture(autouse=True)
def helped(monkeypatch: pytest.MonkeyPatch) -> None:
    """Call the helper for so few nights too, whatever the machine."""
    monkeypatch.setattr(nightwork, "FEWEST_FOR_HELPER", 2)
    monkeypatch.setattr("os.cpu_count", lambda: 2)


@pytest.fixture(scope="module")
def alone() -> tuple[NightSeen, ...]:
    return nights(PLAN, "A", FIRST, LAST, "dusk")


def test_shared_nights_are_the_same_in_the_order_of_dates(alone: tuple[NightSeen, ...]) -> None:
    told: list[tuple[int, int]] = []
    seen = nights_in_two(PLAN, "A", FIRST, LAST, "dusk", lambda *how_far: told.append(how_far))
    assert [one.night.date for one in seen] == [one.night.date for one in alone]
    assert night_rows(seen) == night_rows(alone)
    assert told == sorted(told)
    assert told[-1] == (len(alone), len(alone))


def test_the_helper_answers_as_this_process_does(alone: tuple[NightSeen, ...]) -> None:
    dates = tuple(one.night.date for one in alone[:5])
    standby = nights_standby()
    helper = nightwork._Helper(standby.start(), PLAN, "A", "dusk")
    seen: dict[dt.date, NightSeen] = {}
    try:
        helper.go_on(deque([dates]), seen)
        while helper.unanswered():
            helper.gather(seen)
    finally:
        standby.leave()
    assert night_rows(seen.values()) == night_rows(alone[:5])


def test_a_helper_that_stands_by_serves_one_year_after_the_other(
    alone: tuple[NightSeen, ...],
) -> None:
    standby = nights_standby()
    try:
        pool = standby.start()
        for _ in range(2):
            seen = nights_in_two(PLAN, "A", FIRST, LAST, "dusk", standby=standby)
            assert night_rows(seen) == night_rows(alone)
            assert standby.start() is pool
    finally:
        standby.leave()


def test_a_helper_that_was_left_amid_its_work_is_done_without(
    alone: tuple[NightSeen, ...],
) -> None:
    standby = nights_standby()
    seen = nights_in_two(
        PLAN, "A", FIRST, LAST, "dusk", lambda *_how_far: standby.leave(), standby=standby
    )
    assert night_rows(seen) == night_rows(alone)


def test_the_helper_tells_reasons_in_the_manner_of_each_asking(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Units, clock and dates may be chosen anew while a helper stands by."""
    arctic = first_plan("Skerry", 70.4, 24.5, JUNE)
    standby = nights_standby()
    try:
        for hours in ("24", "12"):
            written = Manner(hours=hours, language="de", dates="de_DE")
            monkeypatch.setattr(manner, "_of_process", written)
            judged = nights(arctic, "A", JUNE, JUNE, "dusk")
            helper = nightwork._Helper(standby.start(), arctic, "A", "dusk")
            seen: dict[dt.date, NightSeen] = {}
            helper.go_on(deque([(JUNE,)]), seen)
            while helper.unanswered():
                helper.gather(seen)
            assert "geht" in (judged[0].night.reason or "")
            assert seen[JUNE].night.reason == judged[0].night.reason
            # What stands in a module is German too: the helper knew before it imported any.
            assert "dieser Abenddämmerung" in (seen[JUNE].reason or "")
    finally:
        standby.leave()


class _Breaks:
    """A pool whose helper dies with its first parcel."""

    def __init__(self, *_made: object) -> None:
        self._future: Future[Any] = Future()

    def submit(self, *_asked: object) -> Future[Any]:
        if not self._future.done():
            self._future.set_exception(BrokenProcessPool("gone"))
        return self._future

    def shutdown(self, **_how: object) -> None:
        """Nothing is left."""


class _NeverAnswers(_Breaks):
    def submit(self, *_asked: object) -> Future[Any]:
        return Future()


class _CannotStart(_Breaks):
    def submit(self, *_asked: object) -> NoReturn:
        raise OSError("no process")


@pytest.mark.parametrize("pool", [_Breaks, _NeverAnswers, _CannotStart])
def test_without_an_answer_from_the_helper_all_is_worked_out_here(
    monkeypatch: pytest.MonkeyPatch, alone: tuple[NightSeen, ...], pool: type[_Breaks]
) -> None:
    monkeypatch.setattr(standing_by, "spawned", pool)
    standby = nights_standby()
    seen = nights_in_two(PLAN, "A", FIRST, LAST, "dusk", standby=standby)
    assert night_rows(seen) == night_rows(alone)
    assert night_rows(nights_in_two(PLAN, "A", FIRST, LAST, "dusk")) == night_rows(alone)


def test_a_helper_that_broke_makes_room_for_another(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(standing_by, "spawned", _Breaks)
    standby = nights_standby()
    pool = standby.start()
    nights_in_two(PLAN, "A", FIRST, FIRST + dt.timedelta(days=2), "dusk", standby=standby)
    assert standby.start() is not pool


def test_a_run_that_is_stopped_gives_what_is_done() -> None:
    told: list[int] = []
    seen = nights_in_two(
        PLAN, "A", FIRST, LAST, "dusk", lambda done, _count: told.append(done),
        lambda: len(told) >= 4,
    )  # fmt: skip
    assert 4 <= len(seen) < 24


def test_a_run_that_is_stopped_before_it_begins_starts_no_helper() -> None:
    standby = nights_standby()
    try:
        seen = nights_in_two(
            PLAN, "A", FIRST, LAST, "dusk", cancelled=lambda: True, standby=standby
        )
        assert len(seen) == 1
        assert standby._pool is None
    finally:
        standby.leave()


def test_a_range_that_cannot_be_is_refused_before_any_work() -> None:
    with pytest.raises(PlanError, match="swap the dates"):
        nights_in_two(PLAN, "A", LAST, FIRST, "dusk")


def test_each_end_has_nights_of_its_own_sun() -> None:
    """Parcels hold every night once, those of the highest sun first (June in the north)."""
    parcels = list(nightwork._parcels(dt.date(2026, 1, 1), 366))
    dates = [date for parcel in parcels for date in parcel]
    assert sorted(dates) == [dt.date(2026, 1, 1) + dt.timedelta(days=k) for k in range(366)]
    assert {date.month for date in parcels[0]} == {6}
    assert {date.month for date in parcels[-1]} == {12}
