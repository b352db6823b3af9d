"""The exchange values of the slow reading against cases worked by hand."""

import json
from pathlib import Path

import chess
import pytest

from exchange import Exchanges, exchange_value
from reach import unit_reach

CASES = json.loads((Path(__file__).parent / "exchange-cases.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['fen'].split()[0]} {c['from']}{c['to']}")
def test_worked_case(case):
    board = chess.Board(case["fen"])
    assert board.is_valid(), "a case is a position that can be"
    origin, target = chess.parse_square(case["from"]), chess.parse_square(case["to"])
    reach = unit_reach(board, origin)
    assert reach & chess.BB_SQUARES[target], "the unit can go there"
    assert exchange_value(case["fen"], case["from"], case["to"]) == case["value"]
    safe = Exchanges(board).safe_of(origin, reach)
    assert bool(safe & chess.BB_SQUARES[target]) == (case["value"] >= 0)


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['fen'].split()[0]} {c['from']}{c['to']}")
def test_colours_exchanged(case):
    """The same case with the colours exchanged has the same value."""
    board = chess.Board(case["fen"]).mirror()
    flip = lambda name: chess.square_name(chess.square_mirror(chess.parse_square(name)))
    assert exchange_value(board.fen(en_passant="fen"), flip(case["from"]), flip(case["to"])) \
        == case["value"]


def test_cases_are_many_and_varied():
    assert len(CASES) >= 15
    assert {case["value"] > 0 for case in CASES} == {True, False}


def least_valuable_first(case):
    """The usual short cut, worked out on the side: always capture with the least valuable unit."""
    from exchange import Exchange
    from units import VALUE

    board = chess.Board(case["fen"])
    exchange = Exchange(board, chess.parse_square(case["to"]))

    def answer(side, standing, full):
        attackers = sorted(
            chess.scan_forward(exchange.attackers(side, full)),
            key=lambda s: VALUE[board.piece_type_at(s)] or 100,
        )
        if not attackers:
            return 0
        left = full & ~chess.BB_SQUARES[attackers[0]]
        value, rise = exchange.arrival(attackers[0])
        return max(0, standing + rise - answer(not side, value, left))

    exchange.answer = answer
    return exchange.going(chess.parse_square(case["from"]))


def test_short_cut_fails_where_said():
    """The case that says least valuable first is not best separates the two."""
    found = [case for case in CASES if "Least valuable first is not best" in case["why"]]
    assert found
    for case in found:
        assert least_valuable_first(case) != case["value"]
