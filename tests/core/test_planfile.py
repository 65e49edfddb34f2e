"""Plan files come back as they were saved, keep what they do not know, and are never lost."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.edit import with_values
from core.plan import Place, Plan, Shoot, Shoots, Station, Take
from core.planfile import Document, PlanFileError, load, read, save
from core.plantext import parsed, with_members_moved
from tests.strategies import plans

ROOT = Path(__file__).resolve().parent.parent.parent
DATE = dt.date(2026, 10, 17)
START = "2026-10-17T18:52:10+02:00"
PLAN = Plan(
    place=Place(name="Old Quay – Süd", latitude_deg=45.1, longitude_deg=12.3),
    shoots=Shoots(A=Shoot(date=DATE), B=Shoot(date=DATE, iso=400.0)),
    takes=(Take(id="t1", shoot="A", start=START), Take(id="t2", shoot="B", start=START)),
)
FORBIDDEN = re.compile(
    r"\b(go|no-go|ok|safe|allowed|error|invalid|warning|please)\b|!", re.IGNORECASE
)


def text_with(change: Callable[[dict[str, Any]], object]) -> str:
    """Return the text of a plan file after a change by hand."""
    raw = msgspec.to_builtins(PLAN)
    raw = json.loads(json.dumps(raw, default=str))
    change(raw)
    return json.dumps(raw)


def refusal(path: Path) -> str:
    """Return the sentence that refuses to read a file, which stays as it is and is not replaced."""
    try:
        before = path.read_bytes() if path.is_file() else None
    except OSError:
        before = None
    with pytest.raises(PlanFileError) as caught:
        load(path)
    text = str(caught.value)
    assert text.startswith(f"{path.name} ")
    assert text.endswith(".")
    assert "\n" not in text
    # What the file itself says is shown between quotation marks.
    assert not FORBIDDEN.search(re.sub(r'".*["…]', "", text))
    if before is not None:
        with pytest.raises(PlanFileError, match=r"^Nothing was saved, because a file"):
            save(PLAN, path)
        assert path.read_bytes() == before
    return text.removeprefix(f"{path.name} ")


@settings(max_examples=30, suppress_health_check=list(HealthCheck))
@given(plan=plans())
def test_a_plan_comes_back_as_it_was_saved(
    plan: Plan, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.duskplan"
    written = save(plan, path)
    assert load(path) == plan
    assert read(path) == written
    assert save(load(path), path) == written


def test_the_text_is_stable_json_for_people(tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    save(PLAN, path)
    text = path.read_text(encoding="utf-8")
    assert text.startswith('{\n  "schema": "1.0",\n  "place": {\n    "name": "Old Quay – Süd",\n')
    assert text.endswith("\n}\n")
    assert list(json.loads(text)) == list(Plan.__struct_fields__)
    save(load(path), path)
    assert path.read_text(encoding="utf-8") == text


def test_a_file_with_the_needed_keys_alone_opens_with_the_defaults(tmp_path: Path) -> None:
    path = tmp_path / "bare.duskplan"
    path.write_text(
        '{"schema": "1.0", "place": {"name": "Quay", "latitude_deg": 45, "longitude_deg": 12},'
        ' "shoots": {"A": {"date": "2026-10-17"}, "B": {"date": "2026-10-17"}}}'
    )
    shoot = Shoot(date=DATE)
    place = Place(name="Quay", latitude_deg=45.0, longitude_deg=12.0)
    assert load(path) == Plan(place=place, shoots=Shoots(A=shoot, B=shoot))


# Keys that this version does not know.


def add_unknown(raw: dict[str, Any]) -> None:
    raw["schema"] = "1.7"
    raw["weather_source"] = {"url": None, "tries": [1, 2.5, {"deep": True}]}
    raw["shoots"]["A"]["bracket"] = 3
    raw["shoots"]["A"]["conditions"]["fog"] = "low – thin"
    raw["path"]["stations"][1]["roll_deg"] = -0.1
    raw["takes"][0]["files"] = ["a.jpg"]
    raw["takes"][1]["summary"]["stars"] = 10**30
    raw["ground"]["lamps"]["switching"]["dim"] = None


def test_unknown_keys_are_kept_wherever_they_stand(tmp_path: Path) -> None:
    path = tmp_path / "newer.duskplan"
    path.write_text(text_with(add_unknown), encoding="utf-8")
    before = json.loads(path.read_text(encoding="utf-8"))
    document = read(path)
    save(document, path)
    assert json.loads(path.read_text(encoding="utf-8")) == before
    other = tmp_path / "copy.duskplan"
    save(document, other)
    assert other.read_bytes() == path.read_bytes()
    # A plan alone keeps what the file has that it replaces, and its version.
    save(with_values(load(path), {"shoots.A.iso": 800.0}), path)
    before["shoots"]["A"]["iso"] = 800.0
    assert json.loads(path.read_text(encoding="utf-8")) == before


def test_unknown_keys_follow_their_take_by_its_id(tmp_path: Path) -> None:
    path = tmp_path / "takes.duskplan"
    path.write_text(text_with(add_unknown), encoding="utf-8")
    document = read(path)
    new = Take(id="t3", shoot="A", start=START)
    takes = (new, document.plan.takes[1], document.plan.takes[0])
    save(Document(replace(document.plan, takes=takes), document.source), path)
    raw = json.loads(path.read_text(encoding="utf-8"))
    known = set(Take.__struct_fields__)
    assert [sorted(set(take) - known) for take in raw["takes"]] == [[], [], ["files"]]
    assert raw["takes"][1]["summary"]["stars"] == 10**30


def test_unknown_keys_follow_their_station_by_its_place(tmp_path: Path) -> None:
    path = tmp_path / "stations.duskplan"
    path.write_text(text_with(add_unknown), encoding="utf-8")
    document = read(path)
    longer = with_values(
        document.plan, {"path.stations": (*document.plan.path.stations, Station())}
    )
    save(Document(longer, document.source), path)
    stations = json.loads(path.read_text(encoding="utf-8"))["path"]["stations"]
    assert [station.get("roll_deg") for station in stations] == [None, -0.1, None]
    shorter = with_values(longer, {"path.stations": longer.path.stations[:1]})
    save(Document(shorter, document.source), path)
    assert "roll_deg" not in path.read_text(encoding="utf-8")


def test_members_move_with_all_that_is_in_them() -> None:
    text = b'{"shoots": {"A": {"note": "\xc3\xa4"}, "B": 2}, "A": 0}'
    swap, copy = [("A", "B"), ("B", "A")], [("A", "B"), ("B", "C")]
    assert parsed(with_members_moved(text, swap, "shoots")) == {
        "shoots": {"A": 2, "B": {"note": "ä"}}, "A": 0,
    }  # fmt: skip
    moved = parsed(with_members_moved(text, copy, "shoots"))
    assert moved == {"shoots": {"A": 2, "B": 2}, "A": 0}
    for nowhere in (("shoots", "B"), ("craft",)):
        assert parsed(with_members_moved(text, swap, *nowhere)) == parsed(text)


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False)
    | st.integers() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@settings(max_examples=50, suppress_health_check=list(HealthCheck))
@given(unknown=st.dictionaries(st.text().map(lambda name: f"x{name}"), JSON_VALUES, max_size=3))
def test_any_unknown_values_come_through(
    unknown: dict[str, object], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.getbasetemp() / "unknown.duskplan"

    def add(raw: dict[str, Any]) -> None:
        raw.update(unknown)
        raw["craft"].update(unknown)

    path.write_text(text_with(add), encoding="utf-8")
    save(read(path), path)
    raw = json.loads(path.read_text(encoding="utf-8"))
    assert {name: raw[name] for name in unknown} == unknown
    assert {name: raw["craft"][name] for name in unknown} == unknown


# Files that cannot be read.


def put(*way: str | int, value: object) -> Callable[[dict[str, Any]], None]:
    def change(raw: Any) -> None:
        for name in way[:-1]:
            raw = raw[name]
        raw[way[-1]] = value

    return change


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            put("shoots", "A", "interval_s", value="3 sec"),
            (
                'cannot be opened: shoots.A.interval_s is "3 sec";'
                " a number of seconds from 0.2 to 600 was expected."
            ),
        ),
        (
            put("path", "stations", 1, "pitch_deg", value=-95),
            (
                "cannot be opened: path.stations.1.pitch_deg is -95;"
                " a number of degrees from −90 to 60 was expected."
            ),
        ),
        (
            lambda raw: raw["place"].pop("latitude_deg"),
            (
                "cannot be opened: place.latitude_deg is missing;"
                " a number of degrees from −90 to 90 was expected."
            ),
        ),
        (
            lambda raw: raw.pop("schema"),
            'cannot be opened: schema is missing; "1.0" was expected.',
        ),
        (put("schema", value=1.0), "cannot be opened: schema is 1.0; text was expected."),
        (put("schema", value="0.9"), 'cannot be opened: schema is "0.9"; "1.0" was expected.'),
        (
            put("schema", value="2.0"),
            (
                "was written by a newer version (schema 2.0, this one reads 1.x);"
                " it is untouched, open it with the newer version."
            ),
        ),
    ],
)
def test_a_file_with_a_wrong_key_is_told_and_kept(
    change: Callable[[dict[str, Any]], None], sentence: str, tmp_path: Path
) -> None:
    path = tmp_path / "wrong.duskplan"
    path.write_text(text_with(change), encoding="utf-8")
    assert refusal(path) == sentence


def test_a_newer_file_is_refused_whatever_else_is_in_it(tmp_path: Path) -> None:
    path = tmp_path / "newer.duskplan"
    path.write_text('{"schema": "12.3.4", "place": "elsewhere"}')
    assert "newer version (schema 12.3.4" in refusal(path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty; a plan in JSON was expected."),
        (b" \n", "is empty; a plan in JSON was expected."),
        (b"{", "is not JSON (at line 1, column 2); a plan in JSON was expected."),
        (b'{"schema": "1.0",}', "is not JSON (at line 1, column "),
        (b"\x89PNG\r\n", "is not in UTF-8 (at byte 1); a plan in JSON was expected."),
        (json.dumps({}).encode("utf-16"), "is not in UTF-8 (at byte 1)"),
        (b"[]", "holds []; a plan was expected."),
        (b"3", "holds 3; a plan was expected."),
        (b"{}", 'cannot be opened: schema is missing; "1.0" was expected.'),
        (b'{"schema": "1.0", "place": NaN}', "holds NaN; a finite number or null was expected."),
        (b'{"x": -Infinity}', "holds -Infinity; a finite number or null was expected."),
        (b'{"x": 1e999}', "holds 1e999; a smaller number was expected."),
        (b'{"x": ' + b"9" * 5000 + b"}", "holds a number too long to be read."),
        (b'{"x": {"y": 1, "z": 2, "y": 3}}', 'has the key "y" twice in one object.'),
        (b"[" * 100_000, "is nested more than 64 deep; a plan in JSON was expected."),
        (b"[" * 70 + b"]" * 70, "is nested more than 64 deep; a plan in JSON was expected."),
        (b'{"x": "\\ud800"}', "holds half a character in "),
        (b'{"\\udfff": 1}', "holds half a character in "),
    ],
)  # fmt: skip
def test_a_file_that_is_no_plan_is_told_and_kept(
    content: bytes, words: str, tmp_path: Path
) -> None:
    path = tmp_path / "bad.duskplan"
    path.write_bytes(content)
    assert refusal(path).startswith(words)


@settings(max_examples=200, suppress_health_check=list(HealthCheck))
@given(content=st.binary() | JSON_VALUES.map(lambda value: json.dumps(value).encode()))
def test_any_bytes_are_a_plan_or_one_sentence(
    content: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.getbasetemp() / "bytes.duskplan"
    path.write_bytes(content)
    refusal(path)


def test_a_byte_order_mark_is_read_over(tmp_path: Path) -> None:
    path = tmp_path / "mark.duskplan"
    path.write_bytes(b"\xef\xbb\xbf" + Document(PLAN).text())
    assert load(path) == PLAN
    save(read(path), path)
    assert path.read_bytes() == Document(PLAN).text()


def test_what_is_not_there_is_told(tmp_path: Path) -> None:
    assert refusal(tmp_path / "none.duskplan") == "is not there: check its name and folder."
    (tmp_path / "folder.duskplan").mkdir()
    assert refusal(tmp_path / "folder.duskplan") == "cannot be read: it is a folder."
    long = tmp_path / ("n" * 300)
    assert refusal(long) == "cannot be read: the name is too long."
    os.mkfifo(tmp_path / "pipe")
    assert refusal(tmp_path / "pipe") == "cannot be read: it is not a file."
    assert refusal(tmp_path / "a\0b") == "cannot be read: the name holds a null character."


def test_a_file_far_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.duskplan"
    with path.open("wb") as file:
        file.truncate(65_000_000)
    with pytest.raises(PlanFileError, match="more than 64 MB"):
        load(path)
