"""Questions about whole sides, once more from the Parquet tables.

Positions, their squares, material and results come by SQL (DuckDB, PyPI `duckdb`) from `turns`, `moves`
and `games`, written from the words under `methods` and schemas/definitions.md, section 13; levels are
standardised (Miettinen 1972) and jackknifed (Tukey 1958; both in full in
pipeline/statistics/src/sources.rs) in numpy with scipy's t quantile. Linear
models are those of statsmodels' `OLS`; its standard errors clustered by games (`cov_type="cluster"`) are
printed beside the jackknife's. With `--all` the sample is put beside all positions of the table `moves`.

Prints a line for each check.
"""

import csv
import io
import json
import subprocess
import sys
import unicodedata

import numpy as np
import statsmodels.api as sm
import xxhash
from scipy import stats

import tables
from report import Check, argument_parser

NAME = "scope-of-a-side"
ENDS = [-21, -11, -4, 3, 10, 20]
LEVELS = {"scope": 7, "held": 6, "restrained": 4}
REFERENCE = {"scope": 3, "held": 0, "restrained": 0}
LEAST, LEAST_FOLDS = 20, 5
STRUCTURE = ["balance", "pieces", "pawns", "piece_diff", "pawn_diff", "ply", "white"]
KINDS = ["pawn", "knight", "bishop", "rook", "queen", "king"]
SQUARES = [f"d_{kind}" for kind in KINDS]
# Model: positions, outcome, covariates.
MODELS = {
    "squares alone": ("all", "score", ["d"]),
    "structure allowed for": ("all", "score", ["d", *STRUCTURE]),
    "structure and pieces held allowed for": ("all", "score", ["d", "held", *STRUCTURE]),
    "rated games, squares alone": ("rated", "score", ["d"]),
    "rated games, rating difference allowed for": ("rated", "score", ["d", "rating"]),
    "rated games, rating difference and structure allowed for": ("rated", "score", ["d", "rating", *STRUCTURE]),
    "squares now and three moves before, structure allowed for": ("steady", "score", ["d", "before", *STRUCTURE]),
    "squares by kind of unit, structure allowed for": ("all", "score", [*SQUARES, *STRUCTURE]),
    "material lost, structure allowed for": ("all", "lost", ["d", *STRUCTURE]),
    "what the squares follow from": ("all", "d", STRUCTURE),
    "what the squares follow from, rated games": ("rated", "d", ["rating", *STRUCTURE]),
}
PER = {"d": 10, "before": 10, "ply": 10, "rating": 100, **{name: 10 for name in SQUARES}}

safe = lambda color: " + ".join(f"{color}_{kind}::int" for kind in KINDS)
apart = lambda kind: f"(white_{kind}::int - black_{kind}::int)"

MOVES = f"""
create table reached as
with begins as (
    select source, game, coalesce(split_part(start_fen, ' ', 2) = 'b', false) as black_first,
           split_part(coalesce(start_fen, 'rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR'), ' ', 1) as board
    from games
),
starts as (
    select source, game, black_first, len(regexp_replace(board, '[^NBRQ]', '', 'g')) as white_pieces,
           len(regexp_replace(board, '[^nbrq]', '', 'g')) as black_pieces,
           len(regexp_replace(board, '[^P]', '', 'g')) as white_pawns,
           len(regexp_replace(board, '[^p]', '', 'g')) as black_pawns
    from begins
),
plies as (
    select m.*, s.* exclude (source, game, black_first),
           case when (m.ply % 2 = 1) = not s.black_first then 1 else -1 end as mover,
           captured is null and promotion is null and not gives_check as quiet,
           coalesce(case captured when 'pawn' then 1 when 'knight' then 3 when 'bishop' then 3
                    when 'rook' then 5 when 'queen' then 9 end, 0) as took,
           coalesce(case promotion when 'knight' then 2 when 'bishop' then 2 when 'rook' then 4
                    when 'queen' then 8 end, 0) as rose,
           (captured is not null and captured = 'pawn')::int as pawn,
           (captured is not null and captured <> 'pawn')::int as piece,
           (promotion is not null)::int as born
    from (select * exclude (mover) from moves where ply <= {{plies}}) m join starts s using (source, game)
)
select source, game, ply, quiet, {safe('white')} - ({safe('black')}) as d,
       {', '.join(f'{apart(kind)} as d_{kind}' for kind in KINDS)},
       sum(mover * (took + rose)) over w as balance,
       white_pieces - sum(case mover when -1 then piece else -born end) over w as white_pieces,
       black_pieces - sum(case mover when 1 then piece else -born end) over w as black_pieces,
       white_pawns - sum(case mover when -1 then pawn else born end) over w as white_pawns,
       black_pawns - sum(case mover when 1 then pawn else born end) over w as black_pawns
from plies window w as (partition by source, game order by ply rows unbounded preceding)
"""

POSITIONS = """
with met as (
    select source, game, ply, any_value(fold) as fold, any_value(color) = 'white' as white,
           any_value(phase) as phase, any_value(rating_diff) as rating_diff,
           any_value(balance)::int as balance, any_value(scope_own)::int - any_value(scope_other)::int as scope,
           count(*) filter (safe <= {k}) as held, count(restrained_{k}) as restrained,
           any_value(owner_result) as result, any_value({where}) as passes
    from turns where sampled and ply between {low} and {high} group by all
)
select t.*, r.quiet, case when t.white then 1 else -1 end as sign,
       g.white as white_name, g.black as black_name, g.white_rating, g.black_rating,
       r.* exclude (source, game, ply, quiet, balance), r.balance as moved,
       b.d as before, b.balance as before_balance, l.balance as later
from met t join games g using (source, game)
     join reached r using (source, game, ply)
     left join reached b on b.source = t.source and b.game = t.game and b.ply = t.ply::int - 6
     join reached l on l.source = t.source and l.game = t.game and l.ply = least(t.ply::int + {later}, g.plies)
order by t.source, t.game, t.ply
"""


def ask(hobble, data, *options):
    command = [hobble, "ask", NAME, "--data", data, *map(str, options)]
    return subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout


def words(name):
    """The words of a name, folded: case, accents, punctuation."""
    letters = {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ß": "ss", "æ": "ae", "œ": "oe", "þ": "th"}
    out = []
    for c in unicodedata.normalize("NFKD", name or "").lower():
        if not unicodedata.combining(c) and c not in "'\u2019\u02bc`\u00b4":
            out.append(letters.get(c, c if c.isalnum() else " "))
    return "".join(out).split()


def player_folds(names, of_games):
    known = {}
    for name in set(names):
        parts = sorted(words(name)) if isinstance(name, str) else []
        known[name] = xxhash.xxh3_64_intdigest(" ".join(parts).encode()) % 64 if parts else None
    return np.array([fold if known[name] is None else known[name] for name, fold in zip(names, of_games)])


class Positions:
    """All positions that count, a column a name."""

    def __init__(self, con, asked, where="true"):
        k, within = asked["k"], asked["within"]
        if not con.execute("select count(*) from duckdb_tables() where table_name = 'reached'").fetchone()[0]:
            con.execute(MOVES.replace("{plies}", str(asked["to_ply"] + 2 * 20)))
        met = con.execute(
            POSITIONS.format(k=k, low=asked["from_ply"], high=asked["to_ply"], later=2 * within, where=where)
        ).df()
        level = met["balance"].abs() <= 1
        ended = met["result"].isin(["win", "draw", "loss"])
        passes = met["passes"]
        self.account = {
            "sampled": len(met),
            "filtered": int((~passes).sum()),
            "not_level": int((passes & ~level).sum()),
            "no_result": int((passes & level & ~ended).sum()),
            "not_quiet": int((passes & level & ended & ~met["quiet"]).sum()),
        }
        met = met[passes & level & ended & met["quiet"]].reset_index(drop=True)
        self.account |= {"counted": len(met), "games": len(met[["source", "game"]].drop_duplicates())}
        sign, white = met["sign"].to_numpy(), met["white"].to_numpy()
        self.met, self.game = met, met.groupby(["source", "game"]).ngroup().to_numpy()
        side = lambda name: np.where(white, met[f"white_{name}"], met[f"black_{name}"]).astype(float)
        other = lambda name: np.where(white, met[f"black_{name}"], met[f"white_{name}"]).astype(float)
        score = met["result"].map({"win": 1.0, "draw": 0.5, "loss": 0.0}).to_numpy()
        moved = sign * (met["later"] - met["moved"]).to_numpy()
        steady = (met["before_balance"] == met["moved"]).to_numpy()
        rated = (met["rating_diff"] != "unknown").to_numpy()
        ratings = np.where(white, 1, -1) * (met["white_rating"].astype(float) - met["black_rating"].astype(float))
        self.of = {
            "score": score,
            "lost": (moved <= -2).astype(float),
            "d": sign * met["d"].to_numpy().astype(float),
            "before": sign * met["before"].fillna(0).to_numpy().astype(float),
            "balance": met["balance"].to_numpy().astype(float),
            "pieces": side("pieces") + other("pieces"),
            "pawns": side("pawns") + other("pawns"),
            "piece_diff": side("pieces") - other("pieces"),
            "pawn_diff": side("pawns") - other("pawns"),
            "ply": met["ply"].to_numpy().astype(float),
            "white": white.astype(float),
            "held": met["held"].to_numpy().astype(float),
            "restrained": met["restrained"].to_numpy().astype(float),
            "rating": np.nan_to_num(ratings.to_numpy()),
            **{name: sign * met[name].to_numpy().astype(float) for name in SQUARES},
        }
        # The scope of `turns` is that of `moves`.
        self.scopes_differ = int((self.of["d"] != met["scope"]).sum())
        everything = np.ones(len(met), dtype=bool)
        self.sets = {"all": everything, "steady": steady, "rated": rated}
        names = np.where(white, met["white_name"], met["black_name"])
        self.folds = [met["fold"].to_numpy(), player_folds(names, met["fold"].to_numpy())]
        self.level = {
            "scope": np.searchsorted(ENDS, self.of["d"]),
            "held": np.minimum(met["held"], 5).to_numpy(),
            "restrained": np.minimum(met["restrained"], 3).to_numpy(),
        }
        classes = np.searchsorted([2, 5, 8, 11], self.of["pieces"])
        met["classes"], met["ten"] = classes, met["ply"] // 10
        keys = ["white", "balance", "rating_diff", "phase", "classes", "ten"]
        self.stratum = met.groupby(keys).ngroup().to_numpy()


def interval(whole, without, folds, scale="plain"):
    """By the jackknife; none where it does not exist or has no spread."""
    if not np.isfinite(whole) or folds < 2:
        return None
    forward, back = {
        "plain": (lambda x: x, lambda x: x),
        "logit": (lambda x: np.log(x / (1 - x)), lambda x: 1 / (1 + np.exp(-x))),
    }[scale]
    with np.errstate(all="ignore"):
        values, middle = forward(np.array(without)), forward(whole)
    if len(values) < 2 or not np.isfinite(values).all() or np.ptp(values) == 0 or not np.isfinite(middle):
        return None
    n = len(values)
    se = np.sqrt((n - 1) / n * ((values - values.mean()) ** 2).sum())
    t = stats.t.ppf(0.975, folds - 1)
    return float(back(middle - t * se)), float(back(middle + t * se))


class Cube:
    """Counts [what, level, stratum, fold] of a measure: positions, points, losses."""

    def __init__(self, at, measure, sort, passes):
        level, stratum, fold = at.level[measure][passes], at.stratum[passes], at.folds[sort][passes]
        _, stratum = np.unique(stratum, return_inverse=True)
        shape = (LEVELS[measure], stratum.max(initial=-1) + 1, 64)
        self.counts = np.zeros((3, *shape))
        for what, values in enumerate([np.ones(len(level)), at.of["score"][passes], at.of["lost"][passes]]):
            np.add.at(self.counts[what], (level, stratum, fold), values)
        self.reference = REFERENCE[measure]
        self.there = [f for f in range(64) if self.counts[0, :, :, f].sum() > 0]

    @staticmethod
    def figures(total, level, reference):
        """Score, lost, their comparable ones and differences, adjusted score; then counts."""
        own, other = total[:, level], total[:, reference]
        both = (own[0] > 0) & (other[0] > 0)
        with np.errstate(all="ignore"):
            means = own.sum(1) / own[0].sum()
            compared = own[:, both].sum(1) / own[0, both].sum()
            expected = (own[0, both] * other[:, both] / other[0, both]).sum(1) / own[0, both].sum()
            base = other[1].sum() / other[0].sum()
        difference = compared - expected
        return {
            "score": means[1], "lost": means[2], "comparable_score": expected[1], "comparable_lost": expected[2],
            "score_difference": difference[1], "lost_difference": difference[2],
            "adjusted_score": base + difference[1], "strata": int(both.sum()),
            "compared": own[0, both].sum(), "positions": own[0].sum(), "reference": other[0].sum(),
        }

    def of_level(self, level):
        total = self.counts.sum(3)
        folds = [int((self.counts[what, level].sum(0) > 0).sum()) for what in (0, 2)]
        reference = int((self.counts[0, self.reference].sum(0) > 0).sum())
        pair = [self.reference, level]
        own = self.counts[:, pair]
        left = [self.figures(total[:, pair] - own[:, :, :, fold], 1, 0) for fold in self.there]
        return self.figures(total, level, self.reference), left, folds, reference


def compare_levels(at, rows, measure, passes, label, counts, figures):
    cubes = [Cube(at, measure, sort, passes) for sort in (0, 1)]
    for level, row in enumerate(rows):
        where = f"{label} {measure} {row['level']}"
        whole, without, folds, reference = cubes[0].of_level(level)
        _, players, folds_of_players, _ = cubes[1].of_level(level)
        is_reference = level == REFERENCE[measure]
        here = passes & (at.level[measure] == level)
        counts.equal(f"{where} positions", row["positions"], int(whole["positions"]))
        counts.equal(f"{where} half points", row["half_points"], int(2 * at.of["score"][here].sum()))
        counts.equal(f"{where} lost", row["lost_positions"], int(at.of["lost"][here].sum()))
        counts.equal(f"{where} strata", row["strata"], 0 if is_reference else whole["strata"])
        if row["games"] is not None:
            counts.equal(f"{where} games", row["games"], len(set(at.game[here])))
        few = (
            whole["positions"] == 0 or whole["strata"] == 0 or min(folds[0], reference) < LEAST_FOLDS
            or min(whole["compared"], whole["reference"]) < LEAST
        )
        counts.equal(f"{where} too few", row["too_few"] is not None, bool(few))
        for name in ["comparable_score", "comparable_lost"]:
            figures.close(f"{where} {name}", row[name], None if is_reference else whole[name])
        covered = whole["compared"] / whole["positions"] if whole["positions"] else None
        figures.close(f"{where} covered", row["covered"], None if is_reference else covered)
        for name, scale in [
            ("score", "plain"), ("lost", "logit"), ("score_difference", "plain"),
            ("lost_difference", "plain"), ("adjusted_score", "plain"),
        ]:
            source = "score" if is_reference and name == "adjusted_score" else name
            none = is_reference and name.endswith("difference")
            figures.close(f"{where} {name}", row[name]["value"], None if none else whole[source], scale=1.0)
            for key, replicates, of_folds in [("by_games", without, folds), ("by_players", players, folds_of_players)]:
                bounds = None
                outcomes = "lost" not in name or folds[1] >= LEAST_FOLDS
                if not (none or few) and outcomes and of_folds[0] >= LEAST_FOLDS:
                    bounds = interval(whole[source], [one[source] for one in replicates], of_folds[0], scale)
                for end, place in [("low", 0), ("high", 1)]:
                    ours = row[name][key] and row[name][key][end]
                    figures.close(f"{where} {name} {key} {end}", ours, bounds and bounds[place], scale=1.0)


def fit(at, passes, outcome, covariates):
    design = np.column_stack([np.ones(passes.sum()), *(at.of[name][passes] for name in covariates)])
    return design, at.of[outcome][passes]


def without_folds(design, outcome, folds):
    """Coefficients without each fold, by the normal equations of scaled columns."""
    scale = np.sqrt((design**2).mean(0))
    scaled = design / np.where(scale > 0, scale, 1)
    squares, products = scaled.T @ scaled, scaled.T @ outcome
    out = []
    for fold in np.unique(folds):
        here = scaled[folds == fold]
        rest = squares - here.T @ here, products - here.T @ outcome[folds == fold]
        out.append(np.linalg.solve(*rest) / scale)
    return np.array(out)


def compare_models(at, answer, models, ratio):
    slopes = {}
    for row in answer["models"]:
        positions, outcome, covariates = MODELS[row["model"]]
        passes = at.sets[positions]
        where = row["model"]
        models.equal(f"{where} positions", row["positions"], int(passes.sum()))
        if not row["slopes"]:
            continue
        design, y = fit(at, passes, outcome, covariates)
        ols = sm.OLS(y, design).fit()
        models.close(f"{where} explained", row["explained"], float(ols.rsquared))
        replicates = [without_folds(design, y, folds[passes]) for folds in at.folds]
        slopes[where] = ols.params, replicates, passes
        for place, (slope, name) in enumerate(zip(row["slopes"], covariates, strict=True), 1):
            per = PER.get(name, 1)
            models.equal(f"{where} {name} per", slope["per"], per)
            check_estimate(models, f"{where} {name}", slope["rise"], per * ols.params[place],
                           [per * each[:, place] for each in replicates], passes, len(covariates))
        robust = ols.get_robustcov_results("cluster", groups=at.game[passes])
        ours = row["slopes"][0]["rise"]["by_games"]
        if ours is not None:
            ratio.append(ours["se"] / (PER.get(covariates[0], 1) * robust.bse[1]))
    taking = answer["taking"]
    params, replicates, passes = slopes.get("squares now and three moves before, structure allowed for", (None,) * 3)
    models.equal("taking positions", taking["positions"], int(at.sets["steady"].sum()))
    if params is not None:
        for name, pick in [("gained", [1, 0]), ("kept", [1, 1]), ("difference", [0, 1]), ("beyond_gone", [1, -1])]:
            of = lambda b: 10 * (pick[0] * b[..., 1] + pick[1] * b[..., 2])
            check_estimate(models, f"taking {name}", taking[name], of(params), [of(each) for each in replicates], passes, 9)


def check_estimate(check, where, ours, value, replicates, passes, covariates):
    check.close(where, ours["value"], float(value), scale=1e-3)
    for key, each in zip(["by_games", "by_players"], replicates):
        bounds = None
        if len(each) >= LEAST_FOLDS and passes.sum() >= max(LEAST, 10 * covariates):
            bounds = interval(float(value), each, len(each))
        for end, place in [("low", 0), ("high", 1)]:
            check.close(f"{where} {key} {end}", ours[key] and ours[key][end], bounds and bounds[place], scale=1e-3)


def compare_changes(at, answer, counts, figures):
    of = lambda d: np.where(d <= -4, 0, np.where(d >= 4, 2, 1))
    names = ["fewer", "about equal", "more"]
    ours = {(row["before"], row["now"]): row for row in answer["changes"]}
    for before in range(3):
        for now in range(3):
            here = at.sets["steady"] & (of(at.of["before"]) == before) & (of(at.of["d"]) == now)
            row = ours.get((names[before], names[now]))
            where = f"{names[before]}, then {names[now]}"
            if row is None:
                counts.equal(f"{where} positions", 0, int(here.sum()))
                continue
            counts.equal(f"{where} positions", row["positions"], int(here.sum()))
            score = at.of["score"][here]
            figures.close(where, row["score"]["value"], float(score.mean()))
            for key, folds in zip(["by_games", "by_players"], at.folds):
                folds = folds[here]
                there = np.unique(folds)
                bounds = None
                if here.sum() >= LEAST and len(there) >= LEAST_FOLDS:
                    bounds = interval(score.mean(), [score[folds != fold].mean() for fold in there], len(there))
                for end, place in [("low", 0), ("high", 1)]:
                    theirs = row["score"][key] and row["score"][key][end]
                    figures.close(f"{where} {key} {end}", theirs, bounds and bounds[place], scale=1.0)


def compare(answer, at, label):
    """The checks of an answer, and how the jackknife's errors are beside clustered ones."""
    counts = Check(f"sides: positions, {label}", "DuckDB")
    figures = Check(f"sides: levels, windows and changes, {label}", "numpy, scipy t")
    models = Check(f"sides: linear models, {label}", "statsmodels OLS, numpy")
    for name, number in at.account.items():
        counts.equal(name, answer["account"][name], number)
    counts.equal("scope of turns and of moves", 0, at.scopes_differ)
    everything = at.sets["all"]
    for measure in LEVELS:
        compare_levels(at, answer[measure], measure, everything, "", counts, figures)
    for window in answer["windows"]:
        measure = "scope" if window["measure"] == "scope balance" else "held"
        passes = (at.met["ten"] == window["from_ply"] // 10).to_numpy()
        compare_levels(at, window["levels"], measure, passes, f"ply {window['from_ply']}", counts, figures)
    compare_changes(at, answer, counts, figures)
    ratio = []
    compare_models(at, answer, models, ratio)
    return [counts, figures, models], ratio


def compare_csv(answer, lines, label):
    """The CSV has the figures of the JSON."""
    check = Check(f"sides: CSV, {label}", "the same as JSON", tolerance=1e-15)
    ours = {}
    for measure in LEVELS:
        for row in answer[measure]:
            ours["levels", row["measure"], row["level"]] = row
    for line in lines:
        row = ours.get((line["part"], line["measure"], line["level"]))
        if row is not None and line["figure"] == "score difference":
            number = lambda text: float(text) if text else None
            check.close(f"{line['level']} value", number(line["value"]), row["score_difference"]["value"])
            of = row["score_difference"]["by_players"]
            check.close(f"{line['level']} low", number(line["low_by_players"]), of and of["low"])
            check.equal(f"{line['level']} positions", int(line["positions"]), row["positions"])
    return check


def beside_all(con, answer, at, label):
    """Mean score and slope of all level positions after a quiet ply, from `moves` alone: does the sample, in
    which each position has the same chance, stand for them?"""
    asked = answer["question"]
    rows = con.execute(
        f"""with p as (
                select source, game, ply, case when (ply % 2 = 0) = not coalesce(split_part(start_fen, ' ', 2) = 'b', false)
                       then 1 else -1 end as sign, d, balance, g.result
                from reached join games g using (source, game)
                where quiet and ply between {asked['from_ply']} and {asked['to_ply']} and ply < g.plies
                      and abs(balance) <= 1 and g.start_fen is null and result <> '*'
            )
            select sign * d as d, case result when '1/2-1/2' then 0.5 when '1-0' then (sign + 1) / 2
                   else (1 - sign) / 2 end as score from p"""
    ).fetchnumpy()
    d, score = rows["d"].astype(float), rows["score"].astype(float)
    slope = 10 * np.cov(d, score)[0, 1] / d.var(ddof=1)
    ours = answer["models"][0]["slopes"][0]["rise"]
    away = (ours["value"] - slope) / ours["by_games"]["se"]
    print(
        f"sides: sample of {len(at.met):,} beside all {len(d):,} positions, {label} | DuckDB | "
        f"score {at.of['score'].mean():.5f} and {score.mean():.5f}; ten squares {ours['value']:.5f} and {slope:.5f}, "
        f"{away:+.2f} standard errors apart"
    )
    levels = np.searchsorted(ENDS, d)
    check = Check(f"sides: levels of the sample beside all positions, {label}", "DuckDB")
    for level, row in enumerate(answer["scope"]):
        here = levels == level
        expected = here.sum() / answer["sample"]
        # Positions of one game are drawn apart from each other, so their number varies as a binomial's.
        check.equal(f"positions {row['level']}", bool(abs(row["positions"] - expected) <= 4 * np.sqrt(expected) + 0.02 * expected), True)
        interval = row["score"]["by_games"]
        if interval is not None:
            near = abs(row["score"]["value"] - score[here].mean()) <= 4 * interval["se"]
            check.equal(f"score {row['level']}", bool(near), True)
    return check


def main():
    arguments = argument_parser(__doc__)
    arguments.add_argument("--once", action="store_true", help="only as the shipped file asks")
    arguments.add_argument("--all", action="store_true", help="put the sample beside all positions")
    given = arguments.parse_args()
    con = tables.connect(given.data)
    cases = [[]] if given.once else [[], ["--k", 1, "--within", 3]]
    for options in cases:
        answer = json.loads(ask(given.hobble, given.data, *options, "--format", "json"))
        lines = list(csv.DictReader(io.StringIO(ask(given.hobble, given.data, *options, "--format", "csv"))))
        asked = answer["question"]
        at = Positions(con, asked)
        label = f"{given.label}, k {asked['k']}, {asked['within']} moves"
        checks, ratio = compare(answer, at, label)
        for check in [*checks, compare_csv(answer, lines, label)]:
            check.report()
        if ratio:
            spread = f"{min(ratio):.2f} to {max(ratio):.2f}"
            print(f"sides: jackknife's error over that clustered by games, {label} | statsmodels OLS cluster | {spread}")
        if given.all and not options:
            beside_all(con, answer, at, label).report()
    return Check.total_differences > 0


if __name__ == "__main__":
    sys.exit(main())
