"""The comparison itself: equal tables pass, and every kind of difference is noticed."""

import copy
from collections import Counter
from pathlib import Path

import pytest

from archive import cut
from compare import Check, compare_exposure, compare_rows
from exposure import KEYS, MEASURES
from position import Measurer
from restraint import rows_of
from tables import schema_columns

GAME = Path(__file__).parent / "fixtures" / "11-pinned.pgn"


@pytest.fixture(scope="module")
def rows():
    (raw,) = cut(GAME.read_bytes())
    return rows_of(raw, GAME.name, Measurer(), sample=1)


def table_of(rows, table):
    return {"games": [rows.game], "moves": rows.moves, "spells": rows.spells,
            "turns": rows.turns, "decisions": rows.decisions}[table]


def found(table, expected, got):
    check = Check(table, "test")
    compare_rows(check, table, expected, got, {})
    return check


@pytest.mark.parametrize("table", ["games", "moves", "spells", "turns", "decisions"])
def test_columns_are_those_of_the_schema(rows, table):
    names = {column["name"] for column in schema_columns(table)}
    for row in table_of(rows, table):
        assert row.keys() == names


@pytest.mark.parametrize("table", ["games", "moves", "spells", "turns", "decisions"])
def test_equal_tables_pass_and_every_altered_value_is_noticed(rows, table):
    expected = table_of(rows, table)
    same = found(table, expected, copy.deepcopy(expected))
    assert same.differences == []
    assert same.pairs == len(expected) * len(schema_columns(table))
    for column in schema_columns(table):
        got = copy.deepcopy(expected)
        old = got[-1][column["name"]]
        got[-1][column["name"]] = 77 if old is None else not old if isinstance(old, bool) \
            else old + 1 if isinstance(old, int) else None
        assert found(table, expected, got).differences, column["name"]


@pytest.mark.parametrize("table", ["games", "moves", "spells", "turns", "decisions"])
def test_missing_added_and_doubled_rows_are_noticed(rows, table):
    expected = table_of(rows, table)
    assert found(table, expected, expected[:-1]).differences
    assert found(table, expected[:-1], expected).differences
    assert found(table, expected, expected + expected[-1:]).differences


def test_exposure(rows):
    cube = rows.exposure
    got = [{**dict(zip(KEYS, key)), **{m: measures[m] for m in MEASURES}}
           for key, measures in cube.items()]
    check = Check("exposure", "test")
    compare_exposure(check, "test", cube, got)
    assert check.differences == []
    assert sum(measures["turns"] for measures in cube.values()) > 0

    # Rows with the same keys may stand more than once: they add up.
    split = copy.deepcopy(got)
    split[0]["turns"] -= 1
    split.append({**dict(zip(KEYS, tuple(got[0][k] for k in KEYS))),
                  **{m: int(m == "turns") for m in MEASURES}})
    check = Check("exposure", "test")
    compare_exposure(check, "test", cube, split)
    assert check.differences == []

    for measure in MEASURES:
        wrong = copy.deepcopy(got)
        wrong[0][measure] += 1
        check = Check("exposure", "test")
        compare_exposure(check, "test", cube, wrong)
        assert check.differences, measure
    check = Check("exposure", "test")
    compare_exposure(check, "test", {**cube, ("other",) * len(KEYS): Counter(turns=1)}, got)
    assert check.differences
