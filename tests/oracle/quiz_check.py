"""Positions of `hobble quiz`, each held against the definitions: is the answer the only one?

    python quiz_check.py --hobble PROGRAM --data DATA --label NAME [--count N]

Every position is measured with the slow reading of this folder over python-chess: of all legal
moves exactly one is quiet, gives nothing away, leaves the piece k safe squares or fewer and does
not attack it (schemas/definitions.md, section 8), and no other quiet move that gives nothing away
leaves it as few; nothing hangs before it and neither king is in check. Squares taken, near misses, the line played and the difficulty (from the table
`decisions`, by DuckDB) are read again as well, and no two positions are alike. Prints one line:
check, source, positions looked at, differences. Exit code 1 if there are any.
"""

import argparse
import json
import subprocess
import sys

import chess
import duckdb

from decisions import K, quiet_moves
from examples_check import Differences, is_quiet, leaving, names, safe_squares
from position import attacked_by, measure
from tried import hanging
from units import KIND_NAME

LEAST = 30
APART = 20
NEAR = 3
MOST_AS_FEW = 2


def san_of(label):
    """The move of a label as `15. g4` or `15...Bg4`."""
    return label.split(".")[-1].strip()


def check_moves(at, board, square, task, out):
    """The answer, that it is the only one, and the near misses."""
    k = K[board.piece_type_at(square)]
    safe = safe_squares(board, square)
    out.expect(names(safe) == task["safe"] and len(safe) > k, f"{at}: safe squares")
    quiet = {one.move: one for one in quiet_moves(board, measure(board))}
    answers, near = {}, {}
    for move, after, left in leaving(board, square):
        san = board.san(move)
        if move in quiet and len(left) <= k:
            out.expect(attacked_by(after, square) == "", f"{at}: {san} leaves as few by attacking it")
            answers[san] = left
        elif move in quiet:
            near[san] = ("leaves more squares", names(left))
        elif len(left) <= k:
            loud = "not quiet" if not is_quiet(board, move) else "gives something away"
            near[san] = (loud, names(left))
    given = {san_of(answer["label"]): answer for answer in task["answers"]}
    out.expect(list(answers) == list(given) and len(given) == 1, f"{at}: answers {given} are {answers}")
    for san, answer in given.items():
        out.expect(names(answers.get(san, ())) == answer["safe"], f"{at}: what {san} leaves")
        taken = safe - answers.get(san, set())
        out.expect(names(taken) == task["taken"], f"{at}: what {san} takes")
        out.expect(answer["played"] == (task["played"]["san"] == san), f"{at}: whether {san} was played")
    for shown in task["near"]:
        expected = near.get(san_of(shown["label"]))
        out.expect(expected == (shown["miss"], shown["safe"]), f"{at}: near miss {shown} is {expected}")
    fewest = sorted(len(left) for _, left in near.values())[:NEAR]
    out.expect([len(shown["safe"]) for shown in task["near"]] == fewest, f"{at}: the nearest misses")
    as_few = sum(len(left) <= k for _, left in near.values())
    out.expect(as_few <= MOST_AS_FEW, f"{at}: {as_few} other moves leave it as few squares")


def check_line(at, board, task, out):
    """The line played can be played, and begins with the move played."""
    line = [san_of(word) for word in task["line"].split() if not word.endswith(".")]
    out.expect(line[0] == task["played"]["san"], f"{at}: the line begins with {line[0]}")
    try:
        board = board.copy(stack=False)
        for san in line:
            board.push_san(san)
    except ValueError as error:
        out.expect(False, f"{at}: {error}")


def missed(turns, kind, phase, legal):
    """Turns like these, and those at which the move was missed."""
    alike = [
        turns[(turns.kind == kind) & (turns.phase == phase) & (turns.legal // 10 == legal // 10)],
        turns[(turns.kind == kind) & (turns.phase == phase)],
        turns[turns.kind == kind],
        turns,
    ]
    few = next((some for some in alike if len(some) >= LEAST), turns)
    return len(few), int((~few.restrains).sum())


def points_of(turns, kind, phase, legal):
    """Legal moves times the share missed, a half upwards."""
    number, some = missed(turns, kind, phase, legal)
    return (2 * int(legal) * some + number) // (2 * number)


def check_difficulty(data, quiz, out):
    """Points and thirds, from the table by DuckDB."""
    turns = duckdb.sql(
        f"SELECT kind, phase, legal, restrains FROM '{data}/decisions/*/*.parquet' "
        "WHERE restraining = 1 AND attacking = 0"
    ).df()
    out.expect(quiz["turns"] == len(turns), f"{quiz['turns']} turns are {len(turns)}")
    keys = turns.groupby(["kind", "phase", "legal"]).size()
    points = {key: points_of(turns, *key) for key in keys.index}
    every = sorted(points[key] for key, number in keys.items() for _ in range(number))
    cuts = [every[-(-nth * len(every) // 3) - 1] for nth in (1, 2)]
    out.expect(quiz["cuts"] == cuts, f"thirds at {quiz['cuts']} are at {cuts}")
    for task in quiz["positions"]:
        rated = task["difficulty"]
        number, some = missed(turns, task["kind"], task["phase"], rated["legal"])
        point = points[(task["kind"], task["phase"], rated["legal"])]
        level = ["easy", "medium", "hard"][sum(point > cut for cut in cuts)]
        same = (rated["points"], rated["turns"], rated["level"]) == (point, number, level)
        out.expect(same and abs(rated["missed"] - some / number) < 1e-9, f"{task['fen']}: difficulty {rated}")


def check_alike(quiz, out):
    """No two positions are alike."""
    boards, structures, games = set(), set(), {}
    for task in quiz["positions"]:
        board, square = chess.Board(task["fen"]), chess.parse_square(task["square"])
        if board.turn == chess.BLACK:
            board, square = board.mirror(), chess.square_mirror(square)
        pawns = (int(board.pieces(chess.PAWN, chess.WHITE)), int(board.pieces(chess.PAWN, chess.BLACK)))
        structure = (task["kind"], square, pawns)
        new = board.board_fen() not in boards and structure not in structures
        out.expect(new, f"{task['fen']}: like another one")
        boards.add(board.board_fen())
        structures.add(structure)
        plies = games.setdefault(task["game"]["game_id"], [])
        apart = all(abs(task["ply"] - other) >= APART for other in plies)
        out.expect(apart, f"{task['fen']}: near to another one of its game")
        plies.append(task["ply"])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--data", required=True)
    parser.add_argument("--label", required=True)
    parser.add_argument("--count", default="100")
    options = parser.parse_args()
    asked = [options.hobble, "quiz", "--data", options.data, "--count", options.count, "--format", "json"]
    done = subprocess.run(asked, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True)
    quiz, out = json.loads(done.stdout), Differences(options.label)
    out.expect(quiz["positions"], "no position at all")
    for task in quiz["positions"]:
        board, square = chess.Board(task["fen"], chess960=True), chess.parse_square(task["square"])
        at = f"position {task['fen']}"
        piece = board.piece_at(square)
        out.expect(
            piece.color != board.turn and KIND_NAME[piece.piece_type] == task["kind"] and board.is_valid(),
            f"{at}: no {task['kind']} of the other side on {task['square']}",
        )
        out.expect(task["k"] == K[piece.piece_type], f"{at}: k is {task['k']}")
        out.expect(board.legal_moves.count() == task["difficulty"]["legal"], f"{at}: legal moves")
        calm = not board.is_check() and not hanging(board, True) and not hanging(board, False)
        out.expect(calm, f"{at}: check, or something hangs already")
        check_moves(at, board, square, task, out)
        check_line(at, board, task, out)
    check_difficulty(options.data, quiz, out)
    check_alike(quiz, out)
    positions = len(quiz["positions"])
    line = f"quiz of {options.label}: one answer each | python-chess, definitions | {positions} positions"
    sys.exit(out.printed(line))


if __name__ == "__main__":
    main()
