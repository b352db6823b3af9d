"""Compares what `hobble game` says of moves tried with python-chess and with the slow reading.

    python tries_check.py --hobble PROGRAM --pgn GAMES.pgn [MORE.pgn …] [--games N] [--moves N]

Of each file the first N games are read; of their (position, legal move) pairs N are drawn, the
same ones each time. For each: the legal moves by python-chess, and by the slow reading what the
move takes from each unit and gives to it, its sums, and whether it is quiet and gives nothing
away (definitions, sections 3 to 5).

Prints one line a check, `check | source | pairs compared | differences`. Exit code 1 if there
are any.
"""

import argparse
import json
import random
import subprocess
import sys
from pathlib import Path

import chess

from archive import Skipped, cut, read, read_bytes
from position import Measurer, measure
from rules_check import PYTHON_CHESS, SLOW, Tally
from track import lay_out
from tried import hanging, sound, squares_after

LEGAL = "moves tried: the legal ones"
CHANGES = "moves tried: taken from and given to each unit"
SUMS = "moves tried: sums"
QUIET = "moves tried: quiet and gives nothing away"
SEED = 7


def names(squares: int) -> list[str]:
    """The squares of a set by name, a1, b1 … h8."""
    return [chess.square_name(square) for square in chess.scan_forward(squares)]


def compare_move(tally: Tally, board: chess.Board, move: chess.Move, printed: dict, slots: dict[int, int],
                 where: str) -> None:
    """One move of one position; `slots` names the unit on each square."""
    stays = squares_after(board, move)
    after = board.copy(stack=False)
    after.push(move)
    one, other = measure(board), measure(after)
    expected = {}
    sums = {"taken": 0, "given": 0, "own_taken": 0, "own_given": 0}
    for square, to in stays.items():
        taken = one[square].safe & ~other[to].safe
        given = other[to].safe & ~one[square].safe
        prefix = "own_" if one[square].color == board.turn else ""
        sums[prefix + "taken"] += taken.bit_count()
        sums[prefix + "given"] += given.bit_count()
        if taken or given:
            expected[slots[square]] = (names(taken), names(given))
    got = {change["unit"]: (change["taken"], change["given"]) for change in printed["changes"]}
    tally.compare(CHANGES, expected, got, where)
    tally.compare(SUMS, sums, {key: printed[key] for key in sums}, where)
    quiet = sound(board, move, one, hanging(board, board.turn))
    tally.compare(QUIET, quiet, printed["gives_nothing_away"], where)


def pairs_of(program: str, pgn: Path, games: int, tally: Tally):
    """(board, move, what the program prints, slots, place) of each legal move of the first games."""
    measurer = Measurer()
    for raw in cut(read_bytes(pgn), games):
        try:
            track = lay_out(read(raw), measurer)
        except Skipped:
            continue
        run = subprocess.run([program, "game", str(pgn), "--game", str(raw.number), "--format", "json"],
                             capture_output=True, text=True, check=True)
        printed = json.loads(run.stdout)
        for board, position in zip(track.boards, printed["positions"], strict=True):
            slots = {chess.parse_square(unit["square"]): unit["unit"] for unit in position["units"]}
            moves = {board.san(move): move for move in board.legal_moves}
            where = f"{pgn.name}, game {raw.number}, {board.fen()}"
            tally.compare(LEGAL, sorted(moves), sorted(one["move"] for one in position["moves"]), where)
            for one in position["moves"]:
                if one["move"] in moves:
                    yield board, moves[one["move"]], one, slots, f"{where}: {one['move']}"


def main() -> int:
    """Draw, compare, report."""
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--hobble", required=True)
    arguments.add_argument("--pgn", type=Path, nargs="+", required=True)
    arguments.add_argument("--games", type=int, default=20)
    arguments.add_argument("--moves", type=int, default=2000)
    options = arguments.parse_args()
    tally = Tally()
    pairs = [pair for pgn in options.pgn for pair in pairs_of(options.hobble, pgn, options.games, tally)]
    drawn = random.Random(SEED).sample(pairs, min(options.moves, len(pairs)))
    # All of the rare sorts of move as well.
    rare = [pair for pair in pairs if pair[0].is_castling(pair[1]) or pair[0].is_en_passant(pair[1])
            or pair[1].promotion is not None]
    drawn += random.Random(SEED).sample(rare, min(options.moves // 10, len(rare)))
    for pair in drawn:
        compare_move(tally, *pair)
    tally.report(LEGAL, PYTHON_CHESS)
    for check in (CHANGES, SUMS, QUIET):
        tally.report(check, SLOW)
    return 1 if sum(tally.bad.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
