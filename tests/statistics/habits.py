#!/usr/bin/env python3
"""What is said of a player, counted and worked out again.

Counts, rates and intervals of `hobble ask own-habits` against DuckDB and numpy, from the words
under `methods`; replies that would have freed a piece against the slow reading in
`tests/oracle` over python-chess. Names are folded here with the standard library alone.

Sources: DuckDB, numpy, scipy, python-chess (PyPI, pinned in tests/requirements.txt).
"""

import json
import subprocess
import sys
import unicodedata
from pathlib import Path

import chess
import duckdb
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "oracle"))
from habits_beside import SCALES, Others, beside_opponents, beside_peers, bounds, check_interval, named, se  # noqa: E402
from habits_chances import missed_chances, prevention  # noqa: E402
from position import measure  # noqa: E402
from report import argument_parser  # noqa: E402

# Counted figure: (what is counted, of what), as conditions on a spell of the player's side, or
# of the opponent's for the last two.
DEV = "developed"
CAUSED = f"{DEV} and cause <> 'undeveloped'"
BLOCKED = f"{DEV} and cause = 'blocked'"
LOST = "fate = 'lost' and fate_ply <= start_ply + 2 * {within}"
OWN = {
    "held": (DEV, None),
    "held_knights": (f"{DEV} and kind = 'knight'", None),
    "held_bishops": (f"{DEV} and kind = 'bishop'", None),
    "held_rooks": (f"{DEV} and kind = 'rook'", None),
    "held_queens": (f"{DEV} and kind = 'queen'", None),
    "held_undeveloped": ("not developed", None),
    "by_own_moves": (f"{DEV} and cause_by = 'own'", CAUSED),
    "blocked": (BLOCKED, CAUSED),
    "entered": (f"{DEV} and cause = 'entered'", CAUSED),
    "pinned_by_own": (f"{DEV} and cause = 'pinned' and cause_by = 'own'", CAUSED),
    "taken": (f"{DEV} and cause = 'taken'", CAUSED),
    "pinned": (f"{DEV} and cause = 'pinned' and cause_by = 'opponent'", CAUSED),
    **{
        f"blocked_by_{kind}": (f"{BLOCKED} and cause_kind = '{kind}'", BLOCKED)
        for kind in ["pawn", "knight", "bishop", "rook", "queen", "king"]
    },
    "long": (f"{DEV} and turns >= {{long}}", DEV),
    "ended_freed": (f"{DEV} and \"end\" = 'freed'", DEV),
    "ended_freed_by_own": (f"{DEV} and \"end\" = 'freed' and end_by = 'own'", DEV),
    "ended_lost": (f"{DEV} and \"end\" = 'lost'", DEV),
    "ended_traded": (f"{DEV} and \"end\" = 'traded'", DEV),
    "ended_sold": (f"{DEV} and \"end\" = 'sold'", DEV),
    "ended_game_over": (f"{DEV} and \"end\" = 'game over'", DEV),
    "lost_within": (f"{DEV} and {LOST}", DEV),
}
TOOK = f"{DEV} and cause = 'taken'"
RESTRAINED_LOST = "restrained and fate = 'lost' and fate_ply::int - start_ply - 2 <= 2 * {within}"
OWN |= {"restrained": ("restrained", None), "restrained_lost": (RESTRAINED_LOST, "restrained")}
OTHERS = {
    "opponent_held": (TOOK, None),
    "opponent_won": (f"{TOOK} and {LOST}", TOOK),
    "opponent_restrained": ("restrained", None),
    "opponent_restrained_lost": (RESTRAINED_LOST, "restrained"),
}


# Of chances to restrain: those taken, of those there were, of the side on move.
CHANCES = {
    "chances_taken": ("mine", "true"),
    **{f"chances_taken_{kind}s": ("mine", f"kind = '{kind}'") for kind in ["knight", "bishop", "rook", "queen"]},
    **{f"chances_taken_{phase}": ("mine", f"phase = '{phase}'") for phase in ["opening", "middlegame", "endgame"]},
    "chances_taken_hurried": ("mine", "clock < 60"),
    "chances_taken_unhurried": ("mine", "clock >= 60"),
    "chances_taken_against": ("not mine", "true"),
    **{f"chances_taken_against_{kind}s": ("not mine", f"kind = '{kind}'")
       for kind in ["knight", "bishop", "rook", "queen"]},
}


def key(name):
    """A name folded: case, accents, punctuation, "Last, First" turned round."""
    letters = {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ß": "ss", "æ": "ae", "œ": "oe",
               "þ": "th"}

    def words(text):
        out = []
        for c in unicodedata.normalize("NFKD", text).lower():
            if unicodedata.combining(c) or c in "'\u2019\u02bc`\u00b4":
                continue
            out.append(letters.get(c, c if c.isalnum() else " "))
        return "".join(out).split()

    parts = name.split(",")
    return " ".join(words(parts[1]) + words(parts[0]) if len(parts) == 2 else words(name))


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
    for table in ["games", "spells", "moves", "decisions"]:
        con.execute(
            f"create or replace view {table} as select * from "
            f"read_parquet('{data}/table={table}/**/*.parquet', hive_partitioning = true)"
        )
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


def counts(con, answer):
    """The table `counted`: a row a side, with events and base of each figure."""
    p = answer["parameters"]
    keys = {key(name) for name in [answer["player"]["name"], *answer["player"]["aliases"]]}
    con.create_function("is_player", lambda name: key(name) in keys, ["VARCHAR"], "BOOLEAN")
    con.execute("create or replace table names as select name, is_player(name) as own from "
                "(select distinct name from sides where name is not null)")
    con.execute(
        """
        create or replace table asked as
        select s.*, coalesce(a.own, false) as own, coalesce(b.own, false) as other_own
        from sides s left join names a on a.name = s.name left join names b on b.name = s.other
        """
    )
    con.execute("delete from asked where own and other_own")
    opponents = answer["peers"]["from"] == "opponents"
    con.execute(
        f"""
        create or replace table chosen as
        select *, false as opponent from asked where own
        union all
        select *, true from asked where other_own and {opponents}
        union all
        select *, false from asked s where not {opponents} and not own and not other_own
          and exists (select 1 from asked p where p.own and p.band = s.band and p.time_class = s.time_class)
        """
    )
    columns = []
    for figures, side in [(OWN, "mine"), (OTHERS, "not mine")]:
        for name, (events, base) in figures.items():
            for what, condition in [("n", events), ("d", base)]:
                if condition is not None:
                    condition = condition.format(within=p["within"], long=p["long"])
                    columns.append(f"count(*) filter (where {side} and {condition}) as {what}_{name}")
    chances = [
        f"count(*) filter (where {side} and {of} and {taken}) as {what}_{name}"
        for name, (side, of) in CHANCES.items() for what, taken in [("n", "restrains"), ("d", "true")]
    ]
    con.execute(
        f"""
        create or replace table counted as
        with found as (
            select c.source, c.game, c.color, {", ".join(columns)}
            from (select c.*, s.* exclude (source, game, color, fold, band, time_class), s.color = c.color as mine
                  from chosen c join spells s on s.source = c.source and s.game = c.game
                  where s.k_low <= {p["k"]} and {p["k"]} <= s.k_high) c
            group by all
        )
        , chances as (
            select c.source, c.game, c.color, {", ".join(chances)}
            from (select c.source, c.game, c.color, d.kind, d.phase, d.clock, d.restrains, d.color = c.color as mine
                  from chosen c join decisions d on d.source = c.source and d.game = c.game) c
            group by all
        )
        select c.own, c.opponent, c.band, c.time_class, c.color, c.eco, c.fold, c.source, c.game, f.* exclude (source, game, color),
               h.* exclude (source, game, color)
        from chosen c left join found f using (source, game, color) left join chances h using (source, game, color)
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
    scale = "log" if unit == "per_game" else "logit"
    forward = SCALES[scale][0]

    report.same(f"{what}: events", measure_["you"]["events"], int(n[own].sum()))
    report.same(f"{what}: base", measure_["you"]["base"], int(d[own].sum()))
    enough = own.sum() >= p["minimum_games"] and (n[own] > 0).sum() >= p["minimum_event_games"]

    def without_game(which, on):
        used = which & ((n > 0) | (d > 0))
        with np.errstate(divide="ignore", invalid="ignore"):
            return SCALES[on][0]((n[which].sum() - n[used]) / (d[which].sum() - d[used])), int(used.sum())

    value = float(n[own].sum() / d[own].sum()) if enough and d[own].sum() else None
    report.same(f"{what}: value", measure_["you"]["value"], value)
    if value is not None:
        left, used = without_game(own, scale)
        check_interval(report, f"{what}: interval", measure_["you"]["interval"], bounds(scale, value, se(left), used - 1))

    others = Others(n, d, folds, strata, own, unit, p)
    if con.execute("select bool_or(opponent) from counted").fetchall()[0][0]:
        beside_opponents(con, measure_, where, base, p, report, what, enough)
    else:
        beside_peers(measure_, others, report, what, enough)


def by_opening(con, least):
    """The group of openings of each side, as deep as the player's games allow: a column of `counted`."""
    con.execute("alter table counted add column code varchar")
    con.execute("update counted set code = regexp_extract(upper(eco), '^[A-E][0-9]{0,2}')")
    own = dict(con.execute("select code, count(*) from counted where own and code <> '' group by code").fetchall())
    groups = set()
    for length in (3, 2, 1):
        sums = {}
        for code, games in own.items():
            if len(code) >= length:
                sums[code[:length]] = sums.get(code[:length], 0) + games
        new = {group for group, games in sums.items() if length == 1 or games >= least}
        own = {code: games for code, games in own.items() if code[:length] not in new}
        groups |= new

    def label(code):
        for length in (3, 2, 1):
            group = (code or "")[:length]
            if len(group) == length and group in groups:
                deeper = any(g != group and g.startswith(group) for g in groups)
                return f"ECO {group}" + (", others" if deeper else "")
        return "no ECO code"

    con.create_function("opening_label", label, ["VARCHAR"], "VARCHAR", null_handling="special")
    con.execute("alter table counted add column opening_group varchar")
    con.execute("update counted set opening_group = opening_label(code)")
    return [row[0] for row in con.execute("select distinct opening_group from counted where own").fetchall()]


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
        where a.own and s.developed and s."end" = 'lost' and s.k_low <= {p["k"]} and {p["k"]} <= s.k_high
        """
    ).fetchall()
    turns = there = played = 0
    for source, game, square, start, number, fen in spells:
        board = chess.Board(fen) if fen else chess.Board()
        at = chess.parse_square(square)
        moves = con.execute(
            'select "from", "to", promotion from moves where source = ? and game = ? order by ply', [source, game]
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


def ask(hobble, data, player, aliases):
    """The answer as JSON."""
    command = [hobble, "ask", "own-habits", "--data", data, "--player", player, "--format", "json"]
    for alias in aliases:
        command += ["--alias", alias]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


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
    parser.add_argument("--replies", action="store_true", help="play over every lost piece")
    arguments = parser.parse_args()
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
