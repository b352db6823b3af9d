#!/usr/bin/env python3
"""What is said of a player, counted and worked out again.

Counts, rates and intervals of `hobble ask own-habits` against DuckDB and numpy, from the words
under `methods`; replies that would have freed a piece against the slow reading in
`tests/oracle` over python-chess.

Sources: DuckDB, numpy, scipy, python-chess (PyPI, pinned in tests/requirements.txt).
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import chess
import duckdb
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "oracle"))
from band_widths import of_files  # noqa: E402
from habits_beside import SCALES, Others, beside_opponents, beside_peers, bounds, check_interval, named, se  # noqa: E402
from habits_chances import missed_chances, prevention  # noqa: E402
from habits_counts import counts, key  # noqa: E402, F401
from habits_findings import findings  # noqa: E402
from habits_openings import by_opening  # noqa: E402
from position import measure  # noqa: E402
from report import argument_parser  # noqa: E402
from views import rows_of  # noqa: E402

class Report:
    """Pairs compared, and those that differ."""

    def __init__(self):
        self.pairs = self.differences = 0

    def same(self, what, ours, theirs):
        """Compares a figure with the recount; floats within 1e-9 of their size."""
        self.pairs += 1
        if ours is None or theirs is None or isinstance(theirs, (int, str, list)):
            equal = ours == theirs
        else:
            equal = abs(ours - theirs) <= 1e-9 * max(1e-3, abs(theirs))
        if not equal:
            self.differences += 1
            print(f"        {what}: {ours!r}, recounted {theirs!r}")


def tables(con, data):
    """Views of the tables, with White's and Black's sides one below the other."""
    for table in ["games", "spells", "moves", "decisions", "turns"]:
        files = rows_of(data, table)
        con.execute(f"create or replace view {table} as select {of_files(files)} from {files}")
    con.execute(
        """
        create or replace table sides as
        select source, game, game_id % 64 as fold, game_id, white as name, black as other, 'white' as color,
               white_band as band, time_class, eco, start_fen from games
        union all
        select source, game, game_id % 64, game_id, black, white, 'black', black_band, time_class, eco, start_fen
        from games
        """
    )


def recount(con, measure_, where, p, report, what):
    """One figure again, from the table `counted`."""
    name, unit = measure_["name"], measure_["unit"]
    base = "1" if unit == "per_game" else f"coalesce(d_{name}, 0)"
    rows = con.execute(
        f"select own, band || ' ' || time_class, fold, coalesce(n_{name}, 0), {base} from counted where {where}"
    ).fetchnumpy()
    own, strata, folds, n, d = (np.asarray(column) for column in rows.values())
    own, n, d, folds = own.astype(bool), n.astype(np.int64), d.astype(np.int64), folds.astype(int)
    scale = "logit" if unit == "share" else "log"
    each = 0.001 if unit == "seconds" else 1.0

    report.same(f"{what}: events", measure_["you"]["events"], int(n[own].sum()))
    report.same(f"{what}: base", measure_["you"]["base"], int(d[own].sum()))
    enough = own.sum() >= p["minimum_games"] and (n[own] > 0).sum() >= p["minimum_event_games"]

    def without_game(which, on):
        used = which & ((n > 0) | (d > 0))
        with np.errstate(divide="ignore", invalid="ignore"):
            return SCALES[on][0](each * (n[which].sum() - n[used]) / (d[which].sum() - d[used])), int(used.sum())

    value = float(each * n[own].sum() / d[own].sum()) if enough and d[own].sum() else None
    report.same(f"{what}: value", measure_["you"]["value"], value)
    if value is not None:
        left, used = without_game(own, scale)
        check_interval(report, f"{what}: interval", measure_["you"]["interval"], bounds(scale, value, se(left), used - 1))

    others = Others(n, d, folds, strata, own, unit, p)
    if con.execute("select bool_or(opponent) from counted").fetchall()[0][0]:
        beside_opponents(con, measure_, where, base, p, report, what, enough)
    else:
        beside_peers(measure_, others, report, what, enough)


def frees(board, square, k):
    """Legal replies that leave the piece on `square` more than k safe squares."""
    before = measure(board)[square].safe
    found = []
    for move in board.legal_moves:
        at = square
        if move.from_square == square:
            at = move.to_square
            if not before >> at & 1:
                continue
        elif board.is_castling(move) and not board.chess960:
            rook, to = (7, 5) if chess.square_file(move.to_square) == 6 else (0, 3)
            if square == chess.square(rook, chess.square_rank(move.from_square)):
                at = chess.square(to, chess.square_rank(move.from_square))
        after = board.copy(stack=False)
        after.push(move)
        if measure(after)[at].safe.bit_count() > k:
            found.append(move)
    return found


def boards(answer, report):
    """The positions of the games to look at."""
    k = answer["parameters"]["k"]
    for game in answer["games"]:
        shown = game["board"]
        board = chess.Board(shown["fen"])
        square = chess.parse_square(shown["square"])
        what = f"game {game['game']['number']}"
        safe = [chess.square_name(s) for s in chess.scan_forward(measure(board)[square].safe)]
        report.same(f"{what}: safe squares", sorted(shown["safe"]), sorted(safe))
        found = frees(board, square, k)
        report.same(f"{what}: replies", shown["replies"], len(found))
        if shown["reply"]:
            san = board.parse_san(shown["reply"].split(".")[-1].strip())
            report.same(f"{what}: the reply frees", True, san in found)


def replies(con, answer, report):
    """The turns of all pieces lost while held, played over from the table of moves."""
    p, said = answer["parameters"], answer["replies"]
    if said["spells"] < said["lost_spells"]:
        return
    spells = con.execute(
        f"""
        select s.source, s.game, s.square, s.start_ply, s.turns, a.start_fen
        from spells s join asked a on a.source = s.source and a.game = s.game and a.color = s.color
        where a.own and s.developed and s.ended = 'lost' and s.k_low <= {p["k"]} and {p["k"]} <= s.k_high
        """
    ).fetchall()
    turns = there = played = 0
    for source, game, square, start, number, fen in spells:
        board = chess.Board(fen) if fen else chess.Board()
        at = chess.parse_square(square)
        moves = con.execute(
            'select from_square, to_square, promotion from moves where source = ? and game = ? order by ply', [source, game]
        ).fetchall()
        for ply, (origin, to, promotion) in enumerate(moves[: start + 2 * number]):
            sign = {"knight": "n"}.get(promotion, promotion[0]) if promotion else ""
            move = chess.Move.from_uci(origin + to + sign)
            if ply >= start and (ply - start) % 2 == 0:
                found = frees(board, at, p["k"])
                turns += 1
                there += bool(found)
                played += move in found
            if ply >= start and move.from_square == at:
                at = move.to_square
            board.push(move)
    for name, value in [("turns", turns), ("there", there), ("played", played), ("missed", there - played)]:
        report.same(f"replies: {name}", said[name], value)


def ask(hobble, data, player, aliases, *more):
    """The answer as JSON."""
    command = [hobble, "ask", "own-habits", "--data", data, "--player", player, "--format", "json", *more]
    for alias in aliases:
        command += ["--alias", alias]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def norms_say_the_same(arguments, peers, report):
    """A file of norms gives what the tables give that it was counted from, but by opening."""
    with tempfile.TemporaryDirectory() as folder:
        norms = f"{folder}/norms.parquet"
        subprocess.run([arguments.hobble, "norms", "--data", peers, "--out", norms], check=True, capture_output=True)
        from_tables, from_norms = (
            ask(arguments.hobble, arguments.data, arguments.player, arguments.alias, "--peers", given)
            for given in [peers, norms]
        )
    for one, other in zip(*([one for section in answer["sections"] for one in section["measures"]]
                            for answer in (from_norms, from_tables)), strict=True):
        for field in one:
            report.same(f"{one['name']}: {field}", [one[field]], [other[field]])
    for name in ["left", "findings"]:
        report.same(name, [from_norms[name]], [from_tables[name]])
    for name in ["sides", "games_without", "dataset"]:
        report.same(f"peers: {name}", [from_norms["peers"][name]], [from_tables["peers"][name]])
    colours = [[one for one in answer["groups"] if one["by"] == "colour"] for answer in (from_norms, from_tables)]
    without = [{**figure, "adjusted": None, "stands_out": None, "verdict": None}
               for colour in colours for group in colour for figure in group["measures"]]
    report.same("by colour", without[: len(without) // 2], without[len(without) // 2:])
    compared = sum(one["peers"]["base"] > 0 for section in from_norms["sections"] for one in section["measures"])
    report.same("figures with peers", True, compared > 10)
    by_opening = [one for group in from_norms["groups"] if group["by"] == "opening" for one in group["measures"]]
    report.same("no openings", [None], sorted({one["ratio"]["value"] for one in by_opening}, key=str))


def frequent(con, at):
    """The name with the most games, or one further down the list."""
    return con.execute(
        "select name from sides where name is not null group by name order by count(*) desc, name limit 1 offset ?",
        [at],
    ).fetchall()[0][0]


def main():
    """Prints a line for each check."""
    parser = argument_parser(__doc__.split("\n", 1)[0])
    parser.add_argument("--player", help="a name in these tables; the most frequent one without")
    parser.add_argument("--alias", action="append", default=[])
    parser.add_argument("--at", type=int, default=0, help="place in the list of names by their games")
    parser.add_argument("--peers", help="tables of others: only norms of them are checked")
    parser.add_argument("--replies", action="store_true", help="play over every lost piece")
    arguments = parser.parse_args()
    if arguments.peers:
        report = Report()
        norms_say_the_same(arguments, arguments.peers, report)
        print(f"norms say what their tables say, {arguments.label} | the tables themselves | {report.pairs} | {report.differences}")
        return 1 if report.differences else 0
    con = duckdb.connect()
    tables(con, arguments.data)
    player = arguments.player or frequent(con, arguments.at)
    answer = ask(arguments.hobble, arguments.data, player, arguments.alias)
    counts(con, answer)
    failed = False

    def line(what, source, report):
        nonlocal failed
        failed = failed or report.differences > 0 or report.pairs == 0
        print(f"{what}, {arguments.label} | {source} | {report.pairs} | {report.differences}")

    report = Report()
    report.same("games", answer["player"]["games"],
                con.execute("select count(*) from counted where own").fetchall()[0][0])
    report.same("peers", answer["peers"]["sides"],
                con.execute("select count(*) from counted where not own").fetchall()[0][0])
    for section in answer["sections"]:
        for figure in section["measures"]:
            recount(con, figure, "true", answer["parameters"], report, figure["name"])
    labels = by_opening(con, answer["parameters"]["minimum_games"])
    report.same("openings", sorted(g["label"] for g in answer["groups"] if g["by"] == "opening"), sorted(labels))
    for group in answer["groups"]:
        if group["by"] == "colour":
            where = f"color = '{group['label'].lower()}'"
        else:
            where = f"opening_group = '{group['label']}'"
        for figure in group["measures"]:
            recount(con, figure, where, answer["parameters"], report, f"{group['label']}, {figure['name']}")
    measures = [one for section in answer["sections"] for one in section["measures"]]
    sample = json.loads((Path(arguments.data) / "manifest.json").read_text())["parameters"]["sample"]
    named(measures, answer["player"]["games"], sample, answer["peers"]["from"] == "opponents", report)
    line("a player's figures beside peers", "DuckDB, numpy, scipy", report)

    report = Report()
    findings(con, answer, sample, report)
    line("a player's findings", "DuckDB", report)

    report = Report()
    boards(answer, report)
    if arguments.replies:
        replies(con, answer, report)
    line("replies that free a piece", "python-chess and tests/oracle", report)

    report = Report()
    missed_chances(con, answer, report)
    line("chances that were missed", "DuckDB, python-chess and tests/oracle", report)

    report = Report()
    prevention(con, answer, report)
    line("restraints that could be prevented or ended", "python-chess and tests/oracle", report)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
