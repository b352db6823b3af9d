"""Positions of `hobble find`: the list against SQL over the tables (DuckDB), each position against the game played
through with python-chess and the slow reading of this folder, the PGN against python-chess's reader.

Prints a line a search: options, source, positions looked at, differences.
"""

import argparse
import csv
import io
import json
import subprocess
import sys

import chess
import chess.pgn
import duckdb
import views

from examples_check import Differences, check_stretch, names, play, safe_squares

LONGEST = "turns desc, source, part, game, row"
# Options, conditions on rows of `spells`, order, positions listed.
SEARCHES = [
    (["--kind", "knight", "--by", "pawn"], "restrained and kind = 'knight' and {k2} and cause_kind = 'pawn'", LONGEST, 50),
    (
        ["--kind", "bishop,rook", "--k", "1", "--turns", "3", "--ended", "lost,traded", "--order", "squares", "--count", "12"],
        "restrained and kind in ('bishop', 'rook') and k_low <= 1 and 1 <= k_high and turns >= 3 and ended in ('lost', 'traded')",
        "coalesce(squares_taken, 0) desc, source, part, game, row",
        12,
    ),
    (
        ["--held", "--cause", "blocked,entered", "--phase", "endgame", "--order", "archive", "--count", "30"],
        "{k2} and cause in ('blocked', 'entered') and phase = 'endgame'",
        "source, part, game, row",
        30,
    ),
    (["--held", "--cause", "undeveloped", "--count", "5"], "{k2} and cause = 'undeveloped'", LONGEST, 5),
    (["--kind", "queen", "--k", "0", "--turns", "50"], "restrained and kind = 'queen' and k_low <= 0 and 0 <= k_high and turns >= 50", LONGEST, 50),
]


def ask(hobble, data, options, form):
    done = subprocess.run([hobble, "find", "--data", data, *options, "--format", form], stdout=subprocess.PIPE, check=True)
    return done.stdout.decode()


def rows_of(data, where, order):
    """The spells that meet the conditions, in the order asked for."""
    where = where.format(k2="k_low <= 2 and 2 <= k_high")
    sql = f"""
        select source, game, start_ply, square, turns, ended from (
            select *, file_row_number as row, cast(regexp_extract(filename, 'part-(\\d+)', 1) as int) as part
            from {views.rows_of(data, "spells", ", filename = true, file_row_number = true")})
        where {where} order by {order}"""
    return duckdb.sql(sql).fetchall()


def check_position(position, expect):
    """The position, its piece and safe squares, and what the game makes of it."""
    positions, moves = play(position)
    ply, square = position["ply"], chess.parse_square(position["square"])
    board = positions[ply]
    expect(board.fen().split()[:2] == position["fen"].split()[:2], "position")
    piece = board.piece_at(square)
    named = chess.COLOR_NAMES[piece.color], chess.piece_name(piece.piece_type)
    expect(named == (position["color"], position["kind"]), "the piece")
    expect(names(safe_squares(board, square)) == position["safe"], "safe squares")
    if position["cause"] == "undeveloped":
        expect(position["began_by"] is None and position["taken"] == [], "no move began it")
    else:
        moved = moves[ply - 1]
        san = position["began_by"]["label"].split(".")[-1].strip()
        expect(san == positions[ply - 1].san(moved), "the move before it")
        stood = positions[ply - 1].piece_at(square) == piece
        was = safe_squares(positions[ply - 1], square) if stood else set()
        expect(position["taken"] == names(was - safe_squares(board, square)), "squares taken")
    end = position["ended_by"]["ply"] if position["ended_by"] else len(moves)
    stretch = position["stretch"]
    last = stretch["positions"][-1]["ply"]
    expect(last == max(end, ply), "where the stretch ends")
    check_stretch(stretch, ply, last, square, positions, moves, expect)


def check_pgn(text, answer, expect):
    """Every game ends as the position's does, with one comment after its ply."""
    source = io.StringIO(text)
    for position in answer["positions"]:
        game = chess.pgn.read_game(source)
        node, comments = game, []
        while True:
            if node.comment:
                comments.append((node.board().ply() - game.board().ply(), node.board().fen().split()[0]))
            if node.is_end():
                break
            node = node.next()
        expect(comments == [(position["ply"], position["fen"].split()[0])], f"PGN of game {position['game']['number']}")
        expect(game.headers["Result"] == position["game"]["result"], "result in PGN")
    expect(chess.pgn.read_game(source) is None, "no game more in PGN")


def check_csv(text, answer, expect):
    lines = list(csv.DictReader(io.StringIO(text)))
    expect(len(lines) == len(answer["positions"]), "rows of the CSV")
    for line, position in zip(lines, answer["positions"]):
        ours = line["game"], line["ply"], line["square"], line["safe_squares"].split(), line["fen"]
        theirs = str(position["game"]["number"]), str(position["ply"]), position["square"], position["safe"], position["fen"]
        expect(ours == theirs, f"CSV, position {line['number']}")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--data", required=True)
    parser.add_argument("--label", required=True)
    given = parser.parse_args()
    failed, looked_at = False, 0
    for options, where, order, most in SEARCHES:
        answer = json.loads(ask(given.hobble, given.data, options, "json"))
        out = Differences(" ".join(options))
        rows = rows_of(given.data, where, order)
        out.expect(answer["found"] == len(rows), f"found {answer['found']}, of the table {len(rows)}")
        ours = [
            (p["game"]["source"], p["game"]["number"], p["ply"], p["square"], p["turns"], p["ended"]) for p in answer["positions"]
        ]
        out.expect(ours == rows[:most], "the list")
        for number, position in enumerate(answer["positions"], 1):
            check_position(position, lambda holds, what: out.expect(holds, f"{number}: {what}"))  # noqa: B023
        check_pgn(ask(given.hobble, given.data, options, "pgn"), answer, out.expect)
        check_csv(ask(given.hobble, given.data, options, "csv"), answer, out.expect)
        looked_at += len(answer["positions"])
        number = f"{answer['found']} found, {len(answer['positions'])} positions"
        failed |= out.printed(f"find {out.claim}, {given.label} | DuckDB, python-chess, definitions | {number}")
    return failed or looked_at == 0


if __name__ == "__main__":
    sys.exit(main())
