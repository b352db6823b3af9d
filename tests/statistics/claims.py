"""Training claims against DuckDB: spells, curve, ends, scores and example games; the evidence
in evidence.py.

Everything is worked out again in SQL over the Parquet files from the words of the claim file
and schemas/definitions.md, sections 6 to 9; the standardisation after Miettinen 1972 and
the delete-a-fold jackknife after Tukey 1958 (both in full in
pipeline/statistics/src/sources.rs), with scipy's t quantile. The
PGN file of the examples is read by python-chess. Prints a line for each check.
"""

import io
import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import chess.pgn
import numpy as np
from scipy import stats

import decision
import evidence
import side
import tables
from filters import where
from report import Check, argument_parser

ROOT = Path(__file__).resolve().parents[2]
ENDS = [
    "ended = 'lost'",
    "ended = 'traded'",
    "ended = 'sold'",
    "ended = 'freed' and end_by = 'own' and moved_away",
    "ended = 'freed' and end_by = 'own' and not moved_away",
    "ended = 'freed' and end_by = 'opponent'",
    "ended = 'game over'",
]


def ask(hobble, name, data):
    done = subprocess.run(
        [hobble, "ask", name, "--data", data, "--format", "json"], stdout=subprocess.PIPE, check=True
    )
    return json.loads(done.stdout)




def standardised(cells):
    """Held rate, free rate, ratio, difference of sums by stratum."""
    held, met, free, free_met = cells
    both = (held > 0) & (free > 0)
    if not both.any():
        return [np.nan] * 4
    expected = (held[both] * free_met[both] / free[both]).sum()
    rate, other = met[both].sum() / held[both].sum(), expected / held[both].sum()
    with np.errstate(all="ignore"):
        return [rate, other, np.divide(rate, other), rate - other]


def check_held(con, claim, answer, counts):
    own = answer["claim"]
    zero = f"(start_ply::int + 2 * ({own['turns']} - 1))"
    held = f"""(select * from spells where {where(claim)} and k_low <= {own['k']}
               and {own['k']} <= k_high and turns >= {own['turns']})"""
    counts.equal("spells", answer["spells"], con.execute(f"select count(*) from {held}").fetchone()[0])
    for point in answer["curve"]:
        moves = point["moves"]
        met = f"fate_ply::int - {zero} <= 2 * {moves}"
        over = f"fate = 'survived' and start_ply::int + plies_left::int < {zero} + 2 * {moves}"
        theirs = con.execute(
            f"""select count(*) filter (fate = 'lost' and {met}), count(*) filter (fate = 'traded' and {met}),
                       count(*) filter (fate = 'sold' and {met}), count(*) filter ({over}) from {held}"""
        ).fetchone()
        for name, their in zip(["lost", "traded", "sold", "over"], theirs):
            counts.equal(f"{own['name']} {name} by move {moves}", point[name]["count"], their)
    for row, condition in zip(answer["ends"], ENDS, strict=True):
        their = con.execute(f"select count(*) from {held} where {condition}").fetchone()[0]
        counts.equal(f"{own['name']} {row['end']}", row["count"], their)
    for row in answer["material"]:
        n = row["within"]
        their = con.execute(
            f"""select count(*) from {held} where material_{n} <= -2
                or (fate = 'lost' and fate_ply::int - start_ply::int <= 2 * {n})"""
        ).fetchone()[0]
        counts.equal(f"{own['name']} wider loss {n}", row["count"], their)
    return held


def check_by_turn(con, held, answer, counts, figures):
    """Numbers at risk and hazards by turn since the first spell of each piece, and intervals by folds."""
    own = answer["claim"]
    fates = "('lost', 'traded', 'sold')" if own["outcome"] == "captured" else "('lost')"
    rows = con.execute(
        f"""with spell as (select * from {held}), first as (
                select source, game, piece, any_value(fold) as fold,
                       min(start_ply::int) + 2 * ({own['turns']} - 1) as zero,
                       any_value(start_ply::int + plies_left::int) as game_end, any_value(fate) as fate,
                       any_value(fate_ply::int) as fate_ply
                from spell group by source, game, piece
            ), followed as (
                select *, zero + 2 * (turn - 1) as p from first, range(1, 21) as turns(turn)
                where zero + 2 * (turn - 1) < game_end
                  and (fate = 'survived' or fate_ply > zero + 2 * (turn - 1))
            ), counted as (
                select followed.*, exists (
                    select 1 from spell s where s.source = followed.source and s.game = followed.game
                    and s.piece = followed.piece
                    and followed.p between s.start_ply and s.start_ply + 2 * (s.turns::int - 1)
                ) as restrained from followed
            ) select turn, restrained, fold, count(*) as n,
                     count(*) filter (fate in {fates} and fate_ply <= p + 2) as met
            from counted group by turn, restrained, fold"""
    ).df()
    for given in answer["by_turn"]["turns"]:
        for state, restrained in [("restrained", True), ("freed", False)]:
            here = rows[(rows.turn == given["turn"]) & (rows.restrained == restrained)]
            at, n, met = f"{own['name']} turn {given['turn']} {state}", int(here.n.sum()), int(here.met.sum())
            counts.equal(f"{at}: at risk", given[state]["at_risk"], n)
            counts.equal(f"{at}: met", given[state]["met"], met)
            interval = given[state]["hazard"]["jackknife"]
            if interval is not None:
                hazard = met / n
                influence = (here.met - hazard * here.n) / n
                se = np.sqrt(len(here) / (len(here) - 1) * (influence**2).sum()) / (hazard * (1 - hazard))
                edge = stats.t.ppf(0.975, len(here) - 1) * se
                logit = np.log(hazard / (1 - hazard))
                for end, value in [("low", logit - edge), ("high", logit + edge)]:
                    figures.close(f"{at}: {end}", interval[end], float(1 / (1 + np.exp(-value))))


def scores_sql(held, level):
    """Sides by band, difference and time class: restrainers, with level material, and the others."""
    return f"""
        with sides as (
            select source, game, 'white' as side, white_band as band, time_class,
                   white_rating::int - black_rating::int as diff,
                   case result when '1-0' then 1 when '0-1' then 0 when '1/2-1/2' then 0.5 end as score
            from games
            union all
            select source, game, 'black', black_band, time_class,
                   black_rating::int - white_rating::int,
                   case result when '1-0' then 0 when '0-1' then 1 when '1/2-1/2' then 0.5 end
            from games
        ), marked as (
            select s.*, h.game is not null as held, coalesce(h.level, false) as level
            from sides s left join (
                select source, game, case color when 'white' then 'black' else 'white' end as side,
                       bool_or({level}) as level
                from {held} group by all) h using (source, game, side)
            where score is not null
        ), binned as (
            select *, case when diff is null then 'unknown' when diff <= -200 then 'a' when diff <= -50 then 'b'
                           when diff <= 49 then 'c' when diff <= 199 then 'd' else 'e' end as bin from marked
        )
        select band, bin, time_class,
               count(*) filter (level), sum(score) filter (level),
               count(*) filter (not held), sum(score) filter (not held)
        from binned group by all
    """


def check_scores(con, held, answer, figures):
    for score, level in zip(answer["scores"], ["true", "abs(balance) <= 1"], strict=True):
        rows = con.execute(scores_sql(held, level)).fetchall()
        cells = np.array([[float(cell or 0) for cell in row[3:]] for row in rows]).reshape(-1, 4).T
        held_mean, other, _, difference = standardised(cells)
        at = f"{answer['claim']['name']} {score['label']}"
        figures.close(f"{at} games", score["games"], float(cells[0].sum()))
        for name, theirs in [("score", held_mean), ("comparable", other), ("difference", difference)]:
            theirs = float(theirs) if np.isfinite(theirs) else None
            figures.close(f"{at} {name}", score[name]["value"], theirs, scale=1.0)


def squares(node):
    """Squares of a move as the tables name them: castling by the king's."""
    board, move = node.parent.board(), node.move
    to = move.to_square
    if board.is_castling(move):
        file = 6 if board.is_kingside_castling(move) else 2
        to = chess.square(file, chess.square_rank(move.from_square))
    return chess.square_name(move.from_square), chess.square_name(to)


def check_pgn(con, hobble, name, data, answer, games):
    with tempfile.NamedTemporaryFile(suffix=".pgn") as file:
        subprocess.run(
            [hobble, "examples", name, "--data", data, "--out", file.name], stdout=subprocess.DEVNULL, check=True
        )
        text = io.StringIO(Path(file.name).read_text(encoding="utf-8"))
    for example in answer["examples"]:
        game = chess.pgn.read_game(text)
        games.equal(f"{name}: a game is there without errors", [], None if game is None else game.errors)
        if game is None:
            continue
        played = list(game.mainline())
        ours = [squares(node) for node in played]
        board = game.board()
        for node in played[: example["cause"]["ply"] - 1]:
            board.push(node.move)
        games.equal(f"{name}: board before", example["fen_before"].split()[:2], board.fen().split()[:2])
        theirs = con.execute(
            'select from_square, to_square from moves where source = ? and game = ? order by ply',
            [example["game"]["source"], example["game"]["number"]],
        ).fetchall()
        games.equal(f"{name}: moves", ours, theirs)
        for ply, _ in example["comments"]:
            games.equal(f"{name}: comment at ply {ply}", True, bool(played[ply - 1].comment))
        games.equal(f"{name}: result", game.headers["Result"], example["game"]["result"])
    games.equal(f"{name}: no more games", None, chess.pgn.read_game(text))


def main():
    parser = argument_parser(__doc__)
    parser.add_argument("--only", nargs="*", default=[], help="names of claims; all where none is given")
    arguments = parser.parse_args()
    con = tables.connect(arguments.data)
    sample = json.loads((Path(arguments.data) / "manifest.json").read_text())["parameters"]["sample"]
    counts = Check(f"claims: spells, curve, ends, cells, {arguments.label}", "DuckDB")
    figures = Check(f"claims: rates, ratio, interval, scores, {arguments.label}", "DuckDB, numpy, scipy", 1e-8)
    fitted = Check(f"claims: twins, {arguments.label}", "statsmodels", 1e-6)
    games = Check(f"claims: PGN of the examples, {arguments.label}", "python-chess")
    for file in sorted((ROOT / "notebooks-free-reports").glob("*.toml")):
        claim = tomllib.loads(file.read_text(encoding="utf-8"))
        if claim.get("about") != "claim" or (arguments.only and file.stem not in arguments.only):
            continue
        answer = ask(arguments.hobble, file.stem, arguments.data)
        held = check_held(con, claim, answer, counts)
        evidence.check(con, claim, answer, sample, counts, figures, fitted)
        decision.check(con, claim, answer, sample, counts, figures)
        side.check(con, claim, answer, sample, counts, figures)
        check_scores(con, held, answer, figures)
        check_by_turn(con, held, answer, counts, figures)
        check_pgn(con, arguments.hobble, file.stem, arguments.data, answer, games)
    # Small archives have no sets of twins that count.
    checks = [counts, figures, games] + ([fitted] if fitted.pairs else [])
    for check in checks:
        check.report()
    sys.exit(any(check.differences for check in checks))


if __name__ == "__main__":
    main()
