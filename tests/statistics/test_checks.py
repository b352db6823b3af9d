"""The checks find what is wrong: each is given a figure that is off, and must say so."""

import copy
import json
import pathlib

import numpy as np
import pytest

import answers
import cells
import tables
import totals
from jackknife import Group
from report import Check


@pytest.fixture(scope="module")
def season(hobble, scan, tmp_path_factory):
    """A scan of the season, an answer to a question, and its recount."""
    data = scan["data"]
    con = tables.connect(data)
    # Matched by little: 400 games have intervals then.
    file = tmp_path_factory.mktemp("question") / "coarse.toml"
    file.write_text(answers.COARSE)
    question = answers.load(str(file))
    counts = cells.cells(con, question, 2, [10], 16)[10]
    groups = {kind: Group(sides, answers.MINIMUM, answers.LEVEL, cells.FREE_ROWS) for kind, sides in counts.items()}
    answer = json.loads(answers.ask(hobble, data, str(file), "--format", "json"))
    return scan | {"con": con, "answer": answer, "groups": groups}


def differences(season, answer):
    checks = answers.Checks("season")
    checks.answer("here", answer, season["groups"])
    return {name for name, check in vars(checks).items() if check.differences}


def test_answer_as_it_is(season):
    assert differences(season, season["answer"]) == set()


@pytest.mark.parametrize(
    "path, check",
    [
        (["restricted", "turns"], "counts"),
        (["free", "over"], "counts"),
        (["standardised", "restricted_turns_left_out"], "counts"),
        (["restricted", "rate"], "rates"),
        (["standardised", "ratio", "value"], "rates"),
        (["restricted", "jackknife", "se"], "jackknife"),
        (["raw", "ratio", "jackknife", "low"], "jackknife"),
        (["standardised", "difference", "jackknife", "high"], "standardised"),
        (["standardised", "restricted_rate", "jackknife", "df"], "standardised"),
    ],
)
def test_one_figure_off(season, path, check):
    answer = copy.deepcopy(season["answer"])
    place = answer["rows"][1]
    for name in path[:-1]:
        place = place[name]
    value = place[path[-1]]
    # A count off by one; a figure off by one part in a hundred million.
    place[path[-1]] = value + 1 if isinstance(value, int) else value * (1 + 1e-8) + 1e-9
    assert differences(season, answer) == {check}


def test_interval_that_is_not_given(season):
    answer = copy.deepcopy(season["answer"])
    answer["rows"][0]["standardised"]["ratio"]["jackknife"] = None
    assert differences(season, answer) == {"given"}


def test_row_that_is_missing(season):
    answer = copy.deepcopy(season["answer"])
    del answer["rows"][2]
    # The tests of the other groups are then adjusted for fewer.
    assert differences(season, answer) == {"counts", "over_all"}


@pytest.mark.parametrize(
    "path",
    [
        ["sources", 0, "captures"],
        ["sources", 0, "spells", "freed"],
        ["sources", 0, "parts", 0, "account", "clocks"],
        ["sources", 0, "parts", 0, "tables", "moves", "rows"],
        ["sources", 0, "a_new_total"],
        ["tables", "exposure", "bytes"],
        ["schemas", "games"],
    ],
)
def test_one_total_off(season, path):
    manifest = json.loads((pathlib.Path(season["data"]) / "manifest.json").read_text())
    recount = totals.Recount(season["con"], season["data"])
    base = pathlib.Path("/")
    expected = totals.manifest_expected(recount, manifest, base)
    right, wrong = Check("", ""), Check("", "")
    totals.compare_manifest(right, manifest, expected)
    place = manifest
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = place.get(path[-1], 0) + 1
    totals.compare_manifest(wrong, manifest, expected)
    assert (right.differences, wrong.differences) == (0, 1)


def test_printed_lines(season):
    recount = totals.Recount(season["con"], season["data"])
    (account,) = recount.accounts.values()
    sizes = {}
    for size in recount.sizes.values():
        sizes.update(size)
    sizes = {table: sizes[table] for table in totals.tables.TABLES}
    lines = [" ".join(line.split()) for line in season["printed"].splitlines() if line.strip()]
    assert totals.printed(account, sizes) == lines


def test_jackknife_by_hand():
    """Eight folds alike but for the first, as the Rust test has them: the standard error of
    the difference is √(7/8 Σ (θᵢ − θ̄)²) of 14/70 − 28/280 and seven times 16/70 − 30/280."""
    sides = {side: np.zeros((5, 1, 64), dtype=np.int64) for side in cells.SIDES}
    for (side, turns), met in zip([("restricted", 10), ("free", 40)], [[4] + [2] * 7, [6] + [4] * 7]):
        for what, counts in enumerate([turns, turns, met]):
            sides[side][what, 0, :8] = counts
    a, b = 14 / 70 - 28 / 280, 16 / 70 - 30 / 280
    mean = (a + 7 * b) / 8
    error = (7 / 8 * ((a - mean) ** 2 + 7 * (b - mean) ** 2)) ** 0.5
    low, high, got, degrees = Group(sides, answers.MINIMUM, 0.95, cells.FREE_ROWS).interval("standardised difference")
    assert degrees == 7
    assert got == pytest.approx(error, rel=1e-12)
    # t(0.975, 7) = 2.364624 in every table.
    assert high - low == pytest.approx(2 * 2.364624 * error, rel=1e-6)


def test_nothing_compared_is_a_difference(capsys):
    assert Check("nothing", "no source").report() == 1
    check = Check("figures", "somebody")
    check.close("a", 1.0, 1.0 + 1e-12)
    check.close("b", None, None)
    check.close("c", 1.0, None)
    check.close("d", float("nan"), 1.0)
    assert check.report() == 2
