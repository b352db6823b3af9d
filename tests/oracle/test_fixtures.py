"""The slow reading against the hand-made fixtures."""

import re

import pytest

from archive import cut, read
from fixtures import FOLDER, differences, load
from position import Measurer
from restraint import rows_of

FIXTURES = load()


def spells_of(fixture):
    data = (FOLDER / fixture["file"]).read_bytes()
    (raw,) = cut(data)
    return rows_of(raw, fixture["file"], Measurer()).spells


@pytest.mark.parametrize("fixture", FIXTURES, ids=lambda f: f["file"])
def test_fixture(fixture):
    compared, found = differences(fixture, spells_of(fixture))
    assert found == []
    assert compared >= 1


def test_twenty_games_one_a_file():
    assert len(FIXTURES) == 20
    assert sorted(p.name for p in FOLDER.glob("*.pgn")) == [f["file"] for f in FIXTURES]
    for fixture in FIXTURES:
        (raw,) = cut((FOLDER / fixture["file"]).read_bytes())
        assert read(raw).moves


def test_every_cause_and_end_is_shown():
    rows = [row for fixture in FIXTURES for row in fixture["spells"]]
    causes = {(row["cause"], row["cause_kind"] == "pawn") for row in rows if row["cause"] == "taken"}
    assert causes == {("taken", True), ("taken", False)}
    assert {row["cause"] for row in rows} == {"undeveloped", "taken", "blocked", "entered", "pinned"}
    ends = {(row["end"], row["end_by"], row["moved_away"]) for row in rows}
    assert ends == {
        ("lost", None, None), ("traded", None, None), ("sold", None, None),
        ("freed", "own", True), ("freed", "own", False), ("freed", "opponent", None),
        ("game over", None, None),
    }
    assert any(not fixture["spells"] for fixture in FIXTURES)


def test_a_wrong_expectation_is_noticed():
    """The check can fail: every single field, altered, is told."""
    for fixture in FIXTURES:
        spells = spells_of(fixture)
        for number, row in enumerate(fixture["spells"]):
            for name in row:
                altered = {**fixture, "spells": [dict(r) for r in fixture["spells"]]}
                altered["spells"][number][name] = "something else"
                assert differences(altered, spells)[1], (fixture["file"], name)


def test_the_readme_tells_every_fixture():
    text = re.sub(r"\s+", " ", (FOLDER / "README.md").read_text(encoding="utf-8"))
    for fixture in FIXTURES:
        assert fixture["file"] in text
        assert fixture["title"] in text
        assert re.sub(r"\s+", " ", fixture["why"]) in text
