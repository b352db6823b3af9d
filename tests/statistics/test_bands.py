"""The checks of the report by rating band find what is wrong."""

import copy
import json

import pytest

import bands


@pytest.fixture(scope="module")
def season(hobble, scan):
    """The report on the season, and its recount."""
    report = json.loads(bands.ask(hobble, scan["data"], "--format", "json"))
    return report, bands.Recount(scan["data"], 2, 10, "yes")


def differences(answer, recount):
    names = ["figures", "intervals", "tests"]
    checks = bands.compare(answer, recount, "season", {})
    return {name for name, check in zip(names, checks) if check.differences}


def test_report_as_it_is(season):
    assert differences(*season) == set()


@pytest.mark.parametrize(
    "field, check",
    [
        ("estimate", "figures"),
        ("n", "figures"),
        ("covered", "figures"),
        ("low", "intervals"),
        ("high", "intervals"),
        ("against_all", "tests"),
        ("p_holm", "tests"),
    ],
)
def test_one_figure_off(season, field, check):
    answer = copy.deepcopy(season[0])
    cell = next(c for c in answer["cells"] if c[field] is not None and c["covered"] is not None and c["p"] is not None)
    cell[field] = cell[field] + 1 if isinstance(cell[field], int) else cell[field] * (1 + 1e-6)
    assert differences(answer, season[1]) == {check}


def test_players_that_are_off(season):
    two_way = [c for c in season[0]["cells"] if c["method"].startswith("two-way") and c["p"] is not None]
    assert two_way, "no cell of the season has the wider interval"
    for field, factor, check in [("players", 2, "figures"), ("largest_share", 1.001, "figures"), ("high", 1.001, "intervals")]:
        answer = copy.deepcopy(season[0])
        cell = next(c for c in answer["cells"] if c["method"].startswith("two-way"))
        cell[field] *= factor
        assert differences(answer, season[1]) == {check}


def test_a_trend_and_a_cell_that_are_off(season):
    answer = copy.deepcopy(season[0])
    answer["trends"][0]["low"] *= 1 + 1e-6
    assert differences(answer, season[1]) == {"tests"}
    answer = copy.deepcopy(season[0])
    shown = next(c for c in answer["cells"] if c["suppressed"])
    shown["suppressed"] = False
    assert differences(answer, season[1]) == {"figures"}
