"""The field card on a phone: opened in a real browser, without a network, the clock moved."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from app.card.phone import card_html
from app.resources import asset, demo_sites
from app.theme import TOKENS
from core.edit import with_values
from core.export.card import Card, card_of
from core.export.phonewords import SCRIPT_WORDS
from core.forecast import Forecast, forecast
from core.manner import manner
from core.plan import Plan
from core.planfile import load
from core.stepwords import COUNTED
from core.timetable import Timetable
from core.words import clock_text
from tests.app.commands import BANNED, answered
from tests.app.phone import HEIGHT, WIDTH, Phone, phone

SITES = {site.stem: site for site in demo_sites()}
DUSK, DAWN = "corvane_harbour", "lanternshell_bay"
MADE_S = 1_790_000_000.0
TICK_S = 1.2


@pytest.fixture(scope="module")
def handset() -> Iterator[Phone]:
    # In a zone where no site lies: the card shows the clock of the place.
    with phone("Pacific/Auckland") as one:
        yield one


@cache
def card(stem: str, **values: object) -> tuple[Plan, Forecast, Card]:
    plan = load(SITES[stem])
    plan = with_values(plan, {key.replace("__", "."): value for key, value in values.items()})
    seen = forecast(plan, "A")
    return plan, seen, card_of(plan, seen, MADE_S)


def saved(folder: Path, stem: str, **values: object) -> tuple[Path, Timetable]:
    plan, seen, made = card(stem, **values)
    path = folder / "card.html"
    path.write_bytes(card_html(made, plan, seen))
    return path, made.timetable


def at(table: Timetable, kind: str) -> float:
    return next(s.time_s for s in (*table.steps, *table.bounds) if s.kind == kind)


def counted(handset: Phone) -> int:
    """The countdown in seconds."""
    parts = [int(part) for part in handset.text("count").split(":")]
    return sum(part * 60**place for place, part in enumerate(reversed(parts)))


def near(handset: Phone, seconds: float) -> bool:
    """Whether the countdown shows so many seconds, but for those the page needed to open."""
    return seconds - 2.0 * TICK_S <= counted(handset) <= seconds + 1.0


@pytest.mark.parametrize("stem", [DUSK, DAWN])
def test_it_counts_down_through_a_whole_evening(stem: str, handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, stem)
    night = table.seen.night
    handset.open(path, at(table, "take_off") - 90.0)
    every = sorted((*table.steps, *table.bounds), key=lambda one: one.time_s)
    begins_s = at(table, "take_off")
    steps = [one for one in every if one.kind in COUNTED and one.time_s >= begins_s]
    leads = {
        "take_off": "Take off in", "lamps_on": "Lamps on in", "first_shutter": "First shutter in",
        "last_frame": "Last frame in", "turn_home": "Turn home in", "land_by": "Land by in",
    }  # fmt: skip
    for step in steps:
        handset.sleep_until(step.time_s - 8.0)
        assert handset.text("lead") == leads[step.kind]
        assert near(handset, 8.0)
        assert handset.text("at").startswith("at ")
        assert handset.text("next") == step.do
        clock = clock_text(night.clock(step.time_s - 8.0))
        assert handset.text("clock").startswith(clock[:4])
    handset.sleep_until(table.bounds[-1].time_s + 3600.0)
    assert handset.text("lead") == "The evening is over"
    current = handset.driver.find_elements("css selector", "#steps .current")
    assert current == []


def test_what_to_do_now_and_next_is_clear_at_a_glance(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    press_s = at(table, "first_shutter")
    handset.open(path, press_s - 120.0)
    # Without a move of the hand: countdown, what to do, the stop and both buttons.
    for name in ("lead", "count", "now", "next", "stop-head", "pressed", "late"):
        rect = handset.part(name).rect
        assert rect["y"] + rect["height"] <= HEIGHT, name
        assert rect["x"] >= 0, name
        assert rect["x"] + rect["width"] <= WIDTH, name
    # Legible at arm's length: both clocks at 93 px, which are 15 mm on glass, nothing below 14.
    for part in ("document.querySelector('.stop')", "count"):
        size = handset.measure(f"parseFloat(getComputedStyle({part}).fontSize)")
        assert float(str(size)) >= 93.0
    smallest = handset.measure(
        "Math.min(...[...document.querySelectorAll('body *')].filter(e => e.checkVisibility())"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert float(str(smallest)) >= 14.0
    current = handset.driver.find_element("css selector", "#steps [aria-current=step]")
    assert "first shutter" in current.text
    assert "Frame station 1" in handset.text("now")


def test_the_latest_stop_stands_large_and_says_when_it_is_past(
    handset: Phone, tmp_path: Path
) -> None:
    path, table = saved(tmp_path, DUSK)
    stop = next(step for step in table.bounds if step.kind == "latest_stop")
    handset.open(path, stop.time_s - 60.0)
    shown = handset.driver.find_element("css selector", ".stop").text.replace("\n", "")
    clock = table.seen.night.clock(int(stop.time_s))
    assert shown == clock_text(clock, seconds=True)
    assert f"{stop.charge_percent} %" in handset.driver.find_element("css selector", ".charge").text
    assert handset.text("stop-head") == "Last frame by"
    handset.sleep_until(stop.time_s + 21.0)
    past = re.fullmatch(r"(?:× )?Fly home, 0:(\d\d) past", handset.text("stop-head"))
    assert past is not None
    assert 20 <= int(past[1]) <= 24


def test_what_is_good_for_a_press_is_told_only_before_it(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    handset.open(path, at(table, "first_shutter") - 60.0)
    assert re.fullmatch(r"good until \d\d:\d\d", handset.text("until"))
    for kind in ("last_frame", "latest_stop", "land_by"):
        handset.sleep_until(at(table, kind) + 1.0)
        assert handset.text("until") == ""
    burns, table = saved(tmp_path, DUSK, shoots__A__iso=1600.0)
    handset.open(burns, at(table, "first_shutter") - 60.0)
    assert handset.text("until") == "no good start"


def test_pressed_moves_the_take_and_can_be_taken_back(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    press_s, last_s = at(table, "first_shutter"), at(table, "last_frame")
    handset.open(path, press_s + 40.0)
    planned = row(handset, "last_frame")
    stop = row(handset, "latest_stop")
    handset.part("pressed").click()
    assert handset.text("pressed") == "Take it back"
    handset.sleep_until(press_s + 100.0)
    assert handset.text("pressed").startswith("Pressed ")
    assert not handset.part("pressed").is_enabled()
    # 40 s late: the take ends so much later, the time to be kept does not move.
    assert near(handset, last_s + 40.0 - (press_s + 100.0))
    assert row(handset, "last_frame") != planned
    assert row(handset, "latest_stop") == stop
    assert re.fullmatch(r"frame 2\d of 200", handset.text("until"))
    # It is kept when the page is opened again.
    # The browser hands it from page to page in its own time.
    handset.reopen_until(
        path, press_s + 110.0, lambda: handset.text("pressed").startswith("Pressed ")
    )
    handset.measure("localStorage.clear()")
    handset.open(path, press_s + 111.0)
    handset.part("pressed").click()
    handset.part("pressed").click()
    assert handset.text("pressed") == "Pressed"
    assert row(handset, "last_frame") == planned


def row(handset: Phone, kind: str) -> str:
    """The clock of a step in the list."""
    return handset.driver.find_element("css selector", f"#steps [data-kind={kind}] time").text[-8:]


def test_late_says_what_a_press_from_now_on_does(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    seen = table.seen
    assert seen.flight.before_min is not None
    handset.open(path, at(table, "take_off") + 30.0)
    assert handset.part("late").get_attribute("aria-expanded") == "false"
    handset.part("late").click()
    ground, air, end = handset.text("told").split("\n")
    ready_s = at(table, "take_off") + 30.0 + 60.0 * seen.flight.before_min
    near_ready = {clock_text(seen.night.clock(ready_s + s), seconds=True) for s in range(-1, 5)}
    assert re.search(r"\d\d:\d\d:\d\d", ground)[0] in near_ready  # type: ignore[index]
    assert "in 10" in ground
    assert air.startswith("At station 1: press now, at ")
    assert end.startswith("The last good start is ")
    handset.sleep_until(at(table, "latest_stop") - 60.0)
    # A minute at one frame every 3 s, but for the seconds that the page takes.
    assert re.search(
        r"the light does not hold, (19|20|21) of 200 frames before the stop", handset.text("told")
    )
    assert "Come back another night." in handset.text("told")


def test_it_is_light_by_day_dim_after_sunset_and_as_the_pilot_wants(
    handset: Phone, tmp_path: Path
) -> None:
    path, table = saved(tmp_path, DUSK)
    event_s = table.seen.night.event.time_s
    handset.open(path, event_s - 600.0)
    assert ground(handset) == TOKENS["window"][0]
    handset.sleep_until(event_s + 5.0)
    handset.driver.implicitly_wait(2)
    assert ground(handset) == TOKENS["window"][2]
    # Red above green above blue in every colour that the dim page paints.
    colours = handset.measure(
        "[...new Set([...document.querySelectorAll('*')].map(e => getComputedStyle(e))"
        ".flatMap(s => [s.color, s.backgroundColor, s.borderTopColor]))]"
    )
    assert isinstance(colours, list)
    for colour in colours:
        red, green, blue, *alpha = (float(part) for part in re.findall(r"[\d.]+", colour))
        assert red >= green >= blue or alpha == [0.0], colour
    handset.part("theme").click()
    assert ground(handset) == TOKENS["window"][0]
    handset.sleep_until(event_s + 60.0)
    assert ground(handset) == TOKENS["window"][0]
    handset.measure("localStorage.clear()")


def test_at_dawn_it_is_dim_before_sunrise(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DAWN)
    event_s = table.seen.night.event.time_s
    handset.open(path, event_s - 600.0)
    assert ground(handset) == TOKENS["window"][2]
    handset.open(path, event_s + 600.0)
    assert ground(handset) == TOKENS["window"][0]


def ground(handset: Phone) -> str:
    """The colour of the page."""
    found = str(handset.measure("getComputedStyle(document.body).backgroundColor"))
    return "#" + "".join(f"{int(part):02x}" for part in re.findall(r"\d+", found)[:3])


def test_nothing_is_fetched_and_nothing_goes_wrong(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    handset.log("browser")
    handset.log("performance")
    handset.open(path, at(table, "first_shutter") - 100.0)
    asked = [
        json.loads(line["message"])["message"]["params"]["request"]["url"]
        for line in handset.log("performance")
        if '"Network.requestWillBeSent"' in line["message"]
    ]
    assert set(asked) <= {path.as_uri()}
    assert handset.log("browser") == []
    text = path.read_text("utf-8")
    assert re.findall(r"(?:src|href)=|https?://|@import|url\(", text) == []


@pytest.mark.parametrize("moment", ["day", "hours", "minutes"])
def test_nothing_hangs_over_the_edge_whatever_the_countdown(
    moment: str, handset: Phone, tmp_path: Path
) -> None:
    path, table = saved(tmp_path, DUSK, place__name="Llanfairpwllgwyngyllgogerychwyrndrobwll" * 2)
    before_s = {"day": 3 * 86_400.0, "hours": 5.5 * 3600.0, "minutes": 3400.0}[moment]
    handset.open(path, at(table, "lamps_on") - before_s)
    assert handset.measure("document.documentElement.scrollWidth") == WIDTH
    assert handset.text("count") != ""


def test_a_name_cannot_break_out_of_the_page(handset: Phone, tmp_path: Path) -> None:
    name = '</script><script>document.title="x"</script><b>&amp;"\'\n🌇 Öd'
    path, table = saved(tmp_path, DUSK, place__name=name)
    handset.open(path, at(table, "first_shutter") - 100.0)
    heading = handset.driver.find_element("css selector", "h1").text
    assert heading == " ".join(name.split())
    assert handset.driver.title.startswith(" ".join(name.split()))
    assert handset.text("lead") == "First shutter in"


def test_the_page_has_no_words_but_those_of_the_program() -> None:
    template = asset("card/phone.html").read_text(encoding="utf-8")
    head, script = template.split('<script>\n"use strict"')
    shown = re.sub(r"<style>.*?</style>", "", head, flags=re.DOTALL)
    said = [*re.findall(r'aria-label="([^"]*)"', shown), re.sub(r"<[^>]*>", "", shown)]
    assert not re.search(r"\w", re.sub(r"\{\{\w+\}\}", "", " ".join(said)))
    # A text of the script has a space, or stands where it is shown.
    assert set(SCRIPT_WORDS) <= set(re.findall(r'"(\w+)"', script))
    assert set(re.findall(r'say\("(\w+)"', script)) <= set(SCRIPT_WORDS)


def test_it_speaks_the_language_of_the_program(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    handset.open(path, at(table, "first_shutter") - 100.0)
    assert handset.measure("document.documentElement.lang") == manner().language


def test_it_is_named_for_screen_readers(handset: Phone, tmp_path: Path) -> None:
    path, table = saved(tmp_path, DUSK)
    handset.open(path, at(table, "first_shutter") - 100.0)
    tree = handset.driver.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    found = {
        (node["role"]["value"], node.get("name", {}).get("value", ""))
        for node in tree
        if not node.get("ignored")
    }
    assert {("button", "Pressed"), ("button", "I am late"), ("heading", "Last frame by")} <= found
    assert ("heading", "First shutter in") in found
    assert all(name for role, name in found if role in ("button", "heading"))
    assert "First shutter at " in str(handset.measure("said.textContent"))


def test_a_flight_that_cannot_be_flown_shows_the_take_and_why(
    handset: Phone, tmp_path: Path
) -> None:
    path, table = saved(tmp_path, DUSK, shoots__A__conditions__wind_10m_m_s=25.0)
    handset.open(path, at(table, "first_shutter") - 30.0)
    assert handset.text("lead") == "First shutter in"
    assert table.reason is not None
    shown = handset.driver.find_element("css selector", ".stop").text
    assert " ".join(shown.split()) == " ".join(table.reason.split())
    handset.part("late").click()
    assert "At station 1" in handset.text("told")
    assert handset.log("browser") == []


@pytest.mark.parametrize("stem", sorted(SITES))
def test_every_site_says_its_figures_without_a_script(stem: str) -> None:
    plan, seen, made = card(stem)
    page = card_html(made, plan, seen).decode()
    assert "{{" not in page
    body = re.sub(r"<style>.*?</style>|<script.*?</script>", " ", page, flags=re.DOTALL)
    plain_text = " ".join(re.sub(r"<[^>]+>", " ", body).split())
    assert BANNED.search(plain_text.replace("<!doctype", "")) is None
    for step in made.steps:
        assert step.local in plain_text
        assert step.utc in plain_text
    for finding in made.cautions:
        assert finding.fact.replace("'", "&#x27;") in plain_text
    assert len(page.encode()) < 60_000


def test_the_command_writes_the_same_page(tmp_path: Path) -> None:
    path = tmp_path / "tonight.html"
    said = answered("card", str(SITES[DUSK]), "--shoot", "B", "--to", str(path))
    assert said == "tonight.html is written.\n"
    page = path.read_text("utf-8")
    assert "shoot B" in page
    assert card("corvane_harbour")[2].place in page
