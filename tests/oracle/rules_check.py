"""Compares hobble's reading of positions with python-chess and with the slow reading.

    python rules_check.py --hobble PROGRAM [--pgn GAMES.pgn] [--games N] [--odd FOLDER]

Positions: every one of the first N games of the archive, of all games kept in the folder of
odd games, and of the published perft positions with all that follows within two plies. They
are given to `hobble position` on standard input, one FEN a line.

Prints one line a check, `check | source | pairs compared | differences`. Exit code 1 if there
are any, or if the real games gave fewer than 200,000 (piece, square) pairs to the check of
exchanges.
"""

import argparse
import json
import multiprocessing
import subprocess
import sys
from collections import Counter
from pathlib import Path

import chess

from archive import Skipped, cut, read, read_bytes
from position import describe
from reach import destination, is_pinned

HERE = Path(__file__).resolve().parent
BATCH = 1000
ENOUGH_EXCHANGES = 200_000
SHOWN = 5
PYTHON_CHESS = f"python-chess {chess.__version__} (PyPI)"
REAL = "real games"
EXCHANGE = "exchange: safe or not"
WORKED = "exchange: worked by hand"
SLOW = "slow reading of schemas/definitions.md over python-chess"
CHECKS = {
    "positions read": SLOW,
    "legal destinations": PYTHON_CHESS,
    "legal, sum": PYTHON_CHESS,
    "reach without check = legal": "definitions, section 3",
    "reach": SLOW,
    EXCHANGE: SLOW,
    "good squares": SLOW,
    "attacked by, defended": PYTHON_CHESS,
    "pinned": SLOW,
}


class ChildFailed(RuntimeError):
    """hobble did not answer for every position."""


class Tally:
    """Pairs compared and differences, by check."""

    def __init__(self):
        self.pairs: Counter = Counter()
        self.bad: Counter = Counter()
        self.shown: dict[str, list[str]] = {}

    def compare(self, check: str, expected, got, where: str, pairs: int = 1) -> None:
        """One comparison that stands for `pairs` pairs."""
        self.pairs[check] += pairs
        if expected != got:
            self.differ(check, f"{where}: expected {expected}, got {got}")

    def differ(self, check: str, words: str) -> None:
        """Note a difference."""
        self.bad[check] += 1
        found = self.shown.setdefault(check, [])
        if len(found) < SHOWN:
            found.append(words)

    def add(self, other: "Tally") -> None:
        """Take another tally's counts in."""
        self.pairs.update(other.pairs)
        self.bad.update(other.bad)
        for check, words in other.shown.items():
            self.shown[check] = (self.shown.get(check, []) + words)[:SHOWN]

    def report(self, check: str, source: str) -> None:
        """The line of a check."""
        print(f"{check} | {source} | {self.pairs[check]} | {self.bad[check]}")
        for words in self.shown.get(check, []):
            print(f"    {words}")


def ask_hobble(program: str, fens: list[str], chess960: bool) -> list[dict]:
    """What `hobble position` says of each position, in order."""
    command = [program, "position"] + (["--chess960"] if chess960 else [])
    run = subprocess.run(command, input="\n".join(fens) + "\n", capture_output=True, text=True,
                         check=False)
    lines = run.stdout.splitlines()
    if len(lines) != len(fens):
        raise ChildFailed(f"{' '.join(command)}: {len(fens)} positions given, {len(lines)} lines "
                          f"back; {run.stderr.strip()[:400]}")
    return [json.loads(line) for line in lines]


def compare_position(tally: Tally, fen: str, chess960: bool, got: dict) -> None:
    """Compare all facts of one position."""
    board = chess.Board(fen, chess960=chess960)
    tally.pairs["positions read"] += 1
    if "units" not in got:
        tally.differ("positions read", f"{fen}: {got}")
        return
    expected = describe(board)
    tally.compare("positions read", expected["turn"], got["turn"], f"{fen}: side on move", 0)
    tally.compare("legal, sum", expected["legal_total"], got["legal_total"], fen)
    ours = {unit["square"]: unit for unit in expected["units"]}
    theirs = {unit["square"]: unit for unit in got["units"]}
    if list(ours) != list(theirs):
        tally.differ("positions read", f"{fen}: units on {list(theirs)}")
        return
    quiet = not board.is_check()
    for square, mine in ours.items():
        its = theirs[square]
        where = f"{fen}: {mine['color']} {mine['kind']} {square}"
        tally.compare("positions read", (mine["color"], mine["kind"]),
                      (its["color"], its["kind"]), where, 0)
        tally.compare("legal destinations", mine["legal"], its["legal"], where,
                      1 if mine["legal"] is None else max(1, len(mine["legal"])))
        tally.compare("reach", mine["reach"], its["reach"], where, max(1, len(mine["reach"])))
        if quiet and its["legal"] is not None:
            tally.compare("reach without check = legal", its["legal"], its["reach"], where)
        # One pair a reach square: is going there safe by the exchange, or not.
        for target in mine["reach"]:
            safe, found = target in mine["safe"], target in its["safe"]
            tally.pairs[EXCHANGE] += 1
            if safe != found:
                tally.differ(EXCHANGE, f"{where} to {target}: expected "
                             f"{'safe' if safe else 'not safe'}, got the other")
        for target in set(its["safe"]) - set(mine["reach"]):
            tally.differ(EXCHANGE, f"{where}: {target} safe but not in the reach")
        tally.compare("good squares", mine["good"], its["good"], where)
        tally.compare("attacked by, defended", (mine["attacked_by"], mine["defended"]),
                      (its["attacked_by"], its["defended"]), where)
        if "pinned" in its:
            pinned = is_pinned(board, chess.parse_square(square))
            tally.compare("pinned", pinned, its["pinned"], where)


def compare_batch(task) -> Tally:
    """Compare a batch of positions."""
    program, fens, chess960 = task
    tally = Tally()
    for fen, got in zip(fens, ask_hobble(program, fens, chess960), strict=True):
        compare_position(tally, fen, chess960, got)
    return tally


def fen_of(board: chess.Board) -> str:
    """FEN with the en passant square wherever a pawn has just gone two squares."""
    return board.fen(en_passant="fen", shredder=board.chess960)


def game_positions(path: Path, limit: int | None):
    """(FEN, Chess960 or not) of every position of the games of a file."""
    for raw in cut(read_bytes(path), limit):
        try:
            played = read(raw)
        except Skipped:
            continue
        board = played.start.copy(stack=False)
        yield fen_of(board), board.chess960
        for move in played.moves:
            board.push(move)
            yield fen_of(board), board.chess960


def batches(positions, program: str):
    """Tasks of one kind of rules each; every position once."""
    seen = set()
    held: dict[bool, list[str]] = {False: [], True: []}
    for fen, chess960 in positions:
        # Counters of moves play no part.
        key = (fen.rsplit(" ", 2)[0], chess960)
        if key in seen:
            continue
        seen.add(key)
        held[chess960].append(fen)
        if len(held[chess960]) == BATCH:
            yield program, held[chess960], chess960
            held[chess960] = []
    for chess960, fens in held.items():
        if fens:
            yield program, fens, chess960


def tree(board: chess.Board, plies: int):
    """All boards after exactly `plies` plies."""
    if plies == 0:
        yield board
        return
    for move in board.legal_moves:
        after = board.copy(stack=False)
        after.push(move)
        yield from tree(after, plies - 1)


def moves_from_squares(board: chess.Board, got: dict) -> int:
    """Number of moves that hobble's legal squares stand for.

    A promotion is four moves to one square. In Chess960 castling and a step of the king can
    lead to the same square: two moves.
    """
    count = 0
    for unit in got["units"]:
        for target in unit["legal"] or []:
            promotion = unit["kind"] == "pawn" and target[1] in "18"
            count += 4 if promotion else 1
            if unit["kind"] == "king":
                arrivals = [
                    move for move in board.legal_moves
                    if chess.square_name(move.from_square) == unit["square"]
                    and chess.square_name(destination(board, move)) == target
                ]
                count += max(len(arrivals), 1) - 1
    return count


def published_positions() -> list[dict]:
    """The published perft positions."""
    return json.loads((HERE / "perft-positions.json").read_text(encoding="utf-8"))


def check_perft(task) -> tuple[str, str, int, int, list[str]]:
    """Perft of one published position by hobble's legal squares: (name, source, counts
    compared, differences, words)."""
    program, row = task
    start = chess.Board(row["fen"], chess960=row["chess960"])
    words = []
    for depth, published in enumerate(row["perft"], start=1):
        boards = list(tree(start, depth - 1))
        answers = ask_hobble(program, [fen_of(b) for b in boards], row["chess960"])
        try:
            found = sum(moves_from_squares(b, a) for b, a in zip(boards, answers, strict=True))
        except KeyError:
            found = next(a for a in answers if "units" not in a)
        if found != published:
            words.append(f"{row['name']}: perft({depth}): published {published}, got {found}")
    return row["name"], row["source"], len(row["perft"]), len(words), words


def worked_cases() -> list[dict]:
    """The exchange cases worked by hand."""
    return json.loads((HERE / "exchange-cases.json").read_text(encoding="utf-8"))


def check_worked_cases(program: str) -> Tally:
    """Safe or not by hand, against hobble."""
    tally = Tally()
    cases = worked_cases()
    answers = ask_hobble(program, [case["fen"] for case in cases], False)
    for case, answer in zip(cases, answers, strict=True):
        where = f"{case['fen']}: {case['from']} to {case['to']} ({case['value']})"
        unit = next((u for u in answer.get("units", []) if u["square"] == case["from"]), None)
        got = None if unit is None else case["to"] in unit["safe"]
        tally.compare(WORKED, case["value"] >= 0, got, where)
    return tally


def groups(options) -> list[tuple[str, object]]:
    """Positions to compare, by where they come from."""

    def odd_games():
        for path in sorted(options.odd.iterdir()):
            if ".pgn" in path.suffixes:
                yield from game_positions(path, None)

    def perft_trees():
        for row in published_positions():
            start = chess.Board(row["fen"], chess960=row["chess960"])
            for plies in range(3):
                for board in tree(start, plies):
                    yield fen_of(board), board.chess960

    found = []
    if options.pgn:
        found.append((REAL, game_positions(options.pgn, options.games)))
    if options.odd:
        found.append(("odd games", odd_games()))
    found.append(("published perft positions", perft_trees()))
    found.append(("worked exchange cases", ((case["fen"], False) for case in worked_cases())))
    return found


def main() -> int:
    """Run the checks."""
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--hobble", required=True, help="the program")
    arguments.add_argument("--pgn", type=Path, help="archive of real games")
    arguments.add_argument("--games", type=int, default=2000, help="first N games of it")
    arguments.add_argument("--odd", type=Path, help="folder of odd games")
    arguments.add_argument("--processes", type=int, default=2)
    options = arguments.parse_args()

    total = Tally()
    real_exchanges = 0
    bad = False
    with multiprocessing.Pool(options.processes) as pool:
        perft = pool.map(check_perft, [(options.hobble, row) for row in published_positions()], 1)
        by_source: dict[str, list] = {}
        for _, source, compared, differences, words in perft:
            line = by_source.setdefault(source, [0, 0, []])
            line[0] += compared
            line[1] += differences
            line[2] += words
        for source, (compared, differences, words) in by_source.items():
            print(f"perft | {source} | {compared} | {differences}")
            for word in words[:SHOWN]:
                print(f"    {word}")
            bad = bad or differences > 0
        worked = check_worked_cases(options.hobble)
        worked.report(WORKED, "arithmetic in tests/oracle/exchange-cases.json")
        bad = bad or worked.bad.total() > 0
        for name, positions in groups(options):
            group = Tally()
            for tally in pool.imap_unordered(compare_batch, batches(positions, options.hobble)):
                group.add(tally)
            print(f"positions from {name}: {group.pairs['positions read']}, "
                  f"with {group.pairs[EXCHANGE]} (piece, square) pairs")
            if name == REAL:
                real_exchanges = group.pairs[EXCHANGE]
            total.add(group)
    for check, source in CHECKS.items():
        if check == "pinned" and not total.pairs[check]:
            continue
        total.report(check, source)
    if options.pgn and real_exchanges < ENOUGH_EXCHANGES:
        print(f"too few exchange pairs from real games: {real_exchanges} of {ENOUGH_EXCHANGES}",
              file=sys.stderr)
        bad = True
    return 1 if bad or total.bad.total() else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except ChildFailed as words:
        sys.exit(str(words))
