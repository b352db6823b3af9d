"""The checks of questions about whole sides find what is wrong."""

import copy
import json

import pytest

import sides
import tables


@pytest.fixture(scope="module")
def season(hobble, scan):
    """The answer on the season, and its positions counted again."""
    answer = json.loads(sides.ask(hobble, scan["data"], "--format", "json"))
    return answer, sides.Positions(tables.connect(scan["data"]), answer["question"])


def differences(answer, at):
    checks, _ = sides.compare(answer, at, "season")
    return {name for name, check in zip(["counts", "figures", "models"], checks) if check.differences}


def test_answer_as_it_is(season):
    assert differences(*season) == set()


@pytest.mark.parametrize(
    "path, check",
    [
        (["account", "counted"], "counts"),
        (["scope", 2, "positions"], "counts"),
        (["held", 1, "games"], "counts"),
        (["scope", 4, "score", "value"], "figures"),
        (["scope", 4, "score_difference", "by_games", "low"], "figures"),
        (["scope", 2, "score_difference", "by_players", "high"], "figures"),
        (["held", 1, "comparable_score"], "figures"),
        (["windows", 0, "levels", 3, "score", "value"], "figures"),
        (["changes", 4, "score", "value"], "figures"),
        (["models", 1, "slopes", 0, "rise", "value"], "models"),
        (["models", 1, "slopes", 3, "rise", "by_players", "low"], "models"),
        (["taking", "kept", "by_games", "high"], "models"),
    ],
)
def test_one_figure_off(season, path, check):
    answer = copy.deepcopy(season[0])
    place = answer
    for step in path[:-1]:
        place = place[step]
    value = place[path[-1]]
    place[path[-1]] = value + 1 if isinstance(value, int) else value * (1 + 1e-6) + 1e-6
    assert differences(answer, season[1]) == {check}
