"""The slow reading against the hand-made fixtures."""

import re

import pytest

from archive import cut, read
from fixtures import FOLDER, RUNS, capture_differences, differences, load, load_runs
from position import Measurer
from restraint import rows_of

FIXTURES = load()
CAPTURES = load_runs()


def rows_in(folder, fixture):
    data = (folder / fixture["file"]).read_bytes()
    (raw,) = cut(data)
    return rows_of(raw, fixture["file"], Measurer())


def spells_of(fixture):
    return rows_in(FOLDER, fixture).spells


@pytest.mark.parametrize("fixture", FIXTURES, ids=lambda f: f["file"])
def test_fixture(fixture):
    compared, found = differences(fixture, spells_of(fixture))
    assert found == []
    assert compared >= 1


@pytest.mark.parametrize("fixture", CAPTURES, ids=lambda f: f["file"])
def test_captures(fixture):
    compared, found = capture_differences(fixture, rows_in(RUNS, fixture).moves)
    assert found == []
    assert compared > 4


def test_every_fate_is_shown_and_a_wrong_one_is_noticed():
    assert sorted(p.name for p in RUNS.glob("*.pgn")) == [f["file"] for f in CAPTURES]
    captures = [capture for fixture in CAPTURES for capture in fixture["captures"]]
    assert {capture["fate"] for capture in captures} == {"lost", "traded", "sold"}
    for fixture in CAPTURES:
        moves = rows_in(RUNS, fixture).moves
        for number, capture in enumerate(fixture["captures"]):
            for name in capture:
                altered = {**fixture, "captures": [dict(c) for c in fixture["captures"]]}
                altered["captures"][number][name] = "something else"
                assert capture_differences(altered, moves)[1], (fixture["file"], name)
        assert capture_differences({**fixture, "captures": []}, moves)[1]


def test_every_game_has_a_file():
    assert len(FIXTURES) == 21
    assert sorted(p.name for p in FOLDER.glob("*.pgn")) == [f["file"] for f in FIXTURES]
    for fixture in FIXTURES:
        (raw,) = cut((FOLDER / fixture["file"]).read_bytes())
        assert read(raw).moves


def test_every_cause_and_end_is_shown():
    rows = [row for fixture in FIXTURES for row in fixture["spells"]]
    causes = {(row["cause"], row["cause_kind"] == "pawn") for row in rows if row["cause"] == "taken"}
    assert causes == {("taken", True), ("taken", False)}
    assert {row["cause"] for row in rows} == {"undeveloped", "taken", "blocked", "entered", "pinned"}
    ends = {(row["ended"], row["end_by"], row["moved_away"]) for row in rows}
    assert ends == {
        ("lost", None, None), ("traded", None, None), ("sold", None, None),
        ("freed", "own", True), ("freed", "own", False), ("freed", "opponent", None),
        ("game over", None, None),
    }
    assert any(not fixture["spells"] for fixture in FIXTURES)
    assert {row["restrained"] for row in rows} == {True, False}
    assert {row["quiet"] for row in rows} == {True, False, None}


def test_a_wrong_expectation_is_noticed():
    """The check can fail: every single field, altered, is found."""
    for fixture in FIXTURES:
        spells = spells_of(fixture)
        for number, row in enumerate(fixture["spells"]):
            for name in row:
                altered = {**fixture, "spells": [dict(r) for r in fixture["spells"]]}
                altered["spells"][number][name] = "something else"
                assert differences(altered, spells)[1], (fixture["file"], name)


@pytest.mark.parametrize("folder, fixtures", [(FOLDER, FIXTURES), (RUNS, CAPTURES)])
def test_the_readme_describes_every_fixture(folder, fixtures):
    text = re.sub(r"\s+", " ", (folder / "README.md").read_text(encoding="utf-8"))
    for fixture in fixtures:
        assert fixture["file"] in text
        assert fixture["title"] in text
        assert re.sub(r"\s+", " ", fixture["why"]) in text
