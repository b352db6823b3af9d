"""The checks of intervals by player find what is wrong."""

import json

import numpy as np
import pytest

import bands
import by_player
import restraint_by_rating


@pytest.fixture(scope="module")
def season(hobble, scan):
    return json.loads(bands.ask(hobble, scan["data"], "--format", "json")), scan["data"]


def test_a_bound_that_is_off_is_found(season):
    answer, data = season
    assert by_player.check_script(answer, data, "season").differences == 0
    cell = next(c for c in answer["cells"] if c["split"] == "band" and c["kind"] == "all" and c["high"] and c["measure"] == "held_share")
    cell["high"] *= 1 + 1e-7
    assert by_player.check_script(answer, data, "season").differences == 1


def test_two_way_by_hand():
    """Three games of three players, each against each other; R = 9 / 20 (the residuals by hand)."""
    e, t = np.array([1, 2, 3, 0, 1, 2.0]), np.array([2, 4, 4, 2, 4, 4.0])
    game, player = np.array([1, 1, 2, 2, 3, 3]), np.array([1, 2, 1, 3, 2, 3])
    sides, games = 6 / 5 * 2.98, 3 / 2 * 0.54
    players = 2 / 3 * ((1.3 / 0.7) ** 2 + 1 + 1)
    want = np.sqrt(games + players - sides) / 9
    se, df, number, largest = restraint_by_rating.two_way(e, t, game, player, share=False)
    # 0.6 / (1 - 8 / 20) = 1 and 0.7 / (1 - 6 / 20) = 1; 400 / 136 players count.
    assert (df, number, largest) == (1, 3, 0.4) and abs(se - want) < 1e-12
