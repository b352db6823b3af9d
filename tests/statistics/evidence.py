"""The evidence of a claim once more, from the Parquet tables alone.

Association: direct standardisation to the claim's pieces (Miettinen 1972) of the weighted rows
of `turns`, and the delete-a-fold jackknife (Tukey 1958), in SQL and numpy. Guards: the same of
other outcomes and other pieces. Twins: statsmodels' ConditionalLogit over sets of one game, ply
and kind, with the sandwich of scores summed by games and by owners (Liang and Zeger 1986; Cameron,
Gelbach and Miller 2011). E-value: VanderWeele and Ding 2017. The publications in full in
pipeline/statistics/src/sources.rs.
"""

import numpy as np
from scipy import stats
from statsmodels.discrete.conditional_models import ConditionalLogit

from cells import FREE_ROWS, key
from filters import one_of, standing
from player_names import words

WITHIN = [3, 5, 10, 15, 20]
FATES = {"lost": "('lost')", "captured": "('lost', 'traded', 'sold')"}
ALL = ["kind", "phase", "time_class", "band", "ten_moves", "bal", "squares_before", "others", "def", "att", "forward", "edge"]
ASKED = ["att", "forward", "edge"]
LEFT_OUT = {
    "attacked matched": ["forward", "edge"],
    "place matched": ["att"],
    "defended and others held not matched": [*ASKED, "def", "others"],
    "position not matched": [*ASKED, "bal", "ten_moves", "squares_before", "others"],
}


def conditions(claim):
    """SQL for the claim's own pieces, and for both sides, on rows of `turns`."""
    both = ["true"]
    for field, column in {"kinds": "kind", "phase": "phase", "band": "band", "time_class": "time_class"}.items():
        if claim.get(field):
            both.append(one_of(column, claim[field]))
    if claim.get("defended", "any") != "any":
        both.append(f"(defenders > 0) = {claim['defended'] == 'yes'}")
    both += standing(claim)
    own = ["true"]
    if claim.get("wedge", "any") != "any":
        own.append("wedge" if claim["wedge"] == "yes" else "not wedge")
    if "good" in claim:
        own.append(f"good <= {claim['good']}")
    if claim.get("by", "any") != "any":
        own.append(f"restrained_by {'=' if claim['by'] == 'pawn' else '<>'} 'pawn'")
    if "squares_taken" in claim:
        own.append(f"restrained_taken >= {claim['squares_taken']}")
    return [" and ".join(f"({condition})" for condition in side) for side in (own, both)]


class Evidence:
    """The rows of `turns` of a claim about restrained pieces, in DuckDB."""

    def __init__(self, con, claim, sample):
        assert claim["restrained"] == "yes"
        self.con, self.claim, self.sample = con, claim, sample
        self.k = claim["k"]
        self.turns = max(claim.get("turns", 2), 2)
        # Whether the table holds every turn at which one of the claim's pieces counts.
        most = {"knight": 1, "bishop": 1, "rook": 2, "queen": 2}
        self.all_there = self.turns == 2 and all(self.k <= most[kind] for kind in claim["kinds"])
        own, both = conditions(claim)
        con.execute(
            f"""create or replace temp table looked as
            select source, part, game, ply::int as ply, color, kind, phase, time_class, band, fold,
                   case when landmark then 1 else {sample} end as w, landmark, sampled,
                   {key("move", self.k)} as ten_moves, {key("balance", self.k)} as bal,
                   case when safe_before_last is null then -1
                        else least(greatest(ceil((safe_before_last::int - {self.k}) / 2), 0), 3) end as squares_before,
                   least(others_held, 3) as others, defenders > 0 as def, attackers > 0 as att,
                   safe, safe_last, coalesce(attacked_last, false) as attacked_last, safe_before_last,
                   restrained_0, restrained_1, restrained_2, restrained_3, restrained_4,
                   coalesce(restrained_taken, 0) as taken, fate, fate_ply::int - ply as after,
                   others_lost_ply::int - ply as others_after,
                   (case color when 'white' then substr(square, 2, 1)::int - 1
                               else 8 - substr(square, 2, 1)::int end) // 2 as forward,
                   substr(square, 1, 1) in ('a', 'h') as edge, square, ({own}) is true as own,
                   others_lost_ply, plies_left, owner_result, rating_diff, columns('(material|eval)_[0-9]+')
            from turns where {both}"""
        )

    def own(self, k, turns):
        return f"(own and restrained_{k} = {turns - 1})"

    def free(self, k):
        return f"(safe > {k} and safe_last > {k} and not attacked_last)"

    def placebo(self):
        # At the landmark, or by the claim's turn and later.
        as_long = "= 1" if self.turns == 2 else f">= {self.turns - 1}"
        higher = " or ".join(f"restrained_{k} {as_long}" for k in range(self.k + 1, 5))
        return f"(own and {self.free(self.k)} and taken > 0 and ({higher}))"

    def cells(self, own, free, met, out, keys):
        """Arrays [what, stratum, fold] of turns and events of both sides, and of rows."""
        strata = ", ".join(keys)
        rows = self.con.execute(
            f"""with counted as (
                select {strata}, fold, coalesce({own}, false) as e, coalesce({free}, false) as f, w,
                       coalesce({met}, false) as met
                from looked where not coalesce({out}, false)
            ), numbered as (
                select dense_rank() over (order by {strata}) - 1 as s, fold,
                       sum(w) filter (e) as n1, sum(w) filter (e and met) as y1,
                       sum(w) filter (f and not e) as n0, sum(w) filter (f and not e and met) as y0,
                       count(*) filter (e) as r1, count(*) filter (f and not e) as r0
                from counted group by {strata}, fold
            ) select * from numbered"""
        ).fetchnumpy()
        cells = np.zeros((6, int(rows["s"].max()) + 1 if len(rows["s"]) else 0, 64))
        for at, name in enumerate(["n1", "y1", "n0", "y0", "r1", "r0"]):
            values = np.ma.filled(np.ma.asarray(rows[name], dtype=float), 0.0)
            np.add.at(cells[at], (np.asarray(rows["s"]), np.asarray(rows["fold"])), values)
        cells = cells[:, cells[0].sum(axis=1) > 0, :]
        # Strata without enough free rows have no rate.
        thin = cells[5].sum(axis=1) < FREE_ROWS
        for side in (2, 3, 5):
            cells[side, thin, :] = 0
        return cells

    def of(self, row):
        """The cells of a row of the comparison or its sensitivity."""
        k, within, varied = row["k"], row["within"], row["varied"]
        met = f"fate in {FATES[row['outcome']]} and after <= {2 * within}"
        gone = f"fate in ('traded', 'sold') and after <= {2 * within}" if varied == "not traded" else "false"
        halves = {"games of even id": 0, "games of odd id": 1}
        if varied in halves:
            gone = f"fold % 2 <> {halves[varied]}"
        keys = [key for key in ALL if key not in LEFT_OUT.get(varied, ASKED)]
        return self.cells(self.own(k, row["turns"]), self.free(k), met, gone, keys)

    def guards(self):
        claim = self.claim
        within = 2 * claim.get("within", 10)
        keys = [key for key in ALL if key not in ASKED]
        own, free = self.own(self.k, self.turns), self.free(self.k)
        met = f"fate in {FATES.get(claim.get('outcome'), FATES['lost'])} and after <= {within}"
        whole = self.cells(own, free, met, "false", keys)
        others = self.cells(own, free, f"others_after <= {within}", "false", keys)
        placebo = self.cells(self.placebo(), free, met, "false", keys) if self.k < 4 else None
        return whole, others, placebo

    def twins(self):
        """Rows of sets with one of the claim's pieces and a free one."""
        within = 2 * self.claim.get("within", 10)
        met = f"fate in {FATES.get(self.claim.get('outcome'), FATES['lost'])} and after <= {within}"
        return self.con.execute(
            f"""with pieces as (
                select source, part, game, ply, color, kind, coalesce({self.own(self.k, self.turns)}, false) as e,
                       coalesce({self.free(self.k)}, false) as f, coalesce({met}, false) as y, def, att,
                       least(safe_before_last::int, 6) as before,
                       case color when 'white' then substr(square, 2, 1)::int - 1
                                  else 8 - substr(square, 2, 1)::int end as forward, edge
                from looked where {'landmark' if self.all_there else 'sampled'} and safe_before_last is not null
            ), both_kept as (select * from pieces where e <> f),
            named as (select source, part, game, white, black from games)
            select * exclude (white, black), case color when 'white' then white else black end as owner
            from both_kept left join named using (source, part, game)
            window same as (partition by source, part, game, ply, kind)
            qualify bool_or(e) over same and bool_or(f) over same
            order by source, part, game, ply, kind"""
        ).df()


def standardised(cells):
    """Rate, standardised rate of the others, ratio, difference, and the turns compared."""
    n1, y1, n0, y0 = (cells[at] for at in range(4))
    both = (n1 > 0) & (n0 > 0)
    with np.errstate(all="ignore"):
        expected = (n1[both] * y0[both] / n0[both]).sum()
        held = n1[both].sum()
        rate, other = y1[both].sum() / held, expected / held
        return rate, other, np.divide(y1[both].sum(), expected), rate - other


def without_one(cells):
    """Ratios with each fold left out that has rows, by fold; all of them."""
    total = cells.sum(axis=2)
    folds = [fold for fold in range(64) if cells[[4, 5], :, fold].sum() > 0]
    return {fold: standardised(total - cells[:, :, fold])[2] for fold in folds}


def folds(cells):
    """Folds of both sides in the strata compared, the fewer of them."""
    total = cells.sum(axis=2)
    both = (total[0] > 0) & (total[2] > 0)
    return min(int((cells[side][both].sum(axis=0) > 0).sum()) for side in (0, 2))


def interval(value, replicates, groups):
    """Jackknife on the log scale."""
    logs = np.log(np.asarray(replicates, dtype=float))
    g = len(logs)
    if g < 2:  # Nothing was compared.
        return float("nan"), float("nan")
    se = np.sqrt((g - 1) / g * np.sum((logs - logs.mean()) ** 2))
    t = stats.t.ppf(0.975, groups - 1)
    return float(value * np.exp(-t * se)), float(value * np.exp(t * se))


def quotient(own, other):
    """The first ratio over the second, with its interval."""
    ratios, others = without_one(own), without_one(other)
    whole = standardised(own.sum(axis=2))[2]
    beside = standardised(other.sum(axis=2))[2]
    replicates = [
        ratios.get(fold, whole) / others.get(fold, beside) for fold in sorted(set(ratios) | set(others))
    ]
    value = float(whole / beside)
    return value, interval(value, replicates, min(folds(own), folds(other)))


def e_value(ratio):
    above = max(ratio, 1 / ratio)
    return above + np.sqrt(above * (above - 1))


COVARIATES = {
    "nothing": [],
    "defended, squares before": ["def", "before"],
    "defended, squares before, row and edge": ["def", "before", "forward", "edge"],
    "defended, squares before, row and edge, attacked now": ["def", "before", "forward", "edge", "att"],
}


def owners(rows):
    """The owner of each row: the words of the name, in any order; somebody else where it has none."""
    found = rows["owner"].map(lambda name: " ".join(sorted(words(name))) if isinstance(name, str) else "")
    place = rows["source"].astype(str) + "/" + rows["part"].astype(str) + "/" + rows["game"].astype(str)
    return found.where(found != "", "?" + place + rows["color"].astype(str))


def meat(scores, clusters):
    """Scores of the sets summed by clusters; the number of clusters."""
    names, number = np.unique(clusters, return_inverse=True)
    sums = np.zeros((len(names), scores.shape[1]))
    np.add.at(sums, number, scores)
    return len(sums) / (len(sums) - 1) * sums.T @ sums, len(sums)


def conditional(rows, covariates):
    """Odds ratio and its interval, clustered by games and owners."""
    sets = ["source", "part", "game", "ply", "kind"]
    met = rows.groupby(sets)["y"].transform("mean")
    rows = rows[(met > 0) & (met < 1)]
    x = rows[["e", *covariates]].astype(float).to_numpy()
    number = rows.groupby(sets, sort=False).ngroup().to_numpy()
    game = rows.groupby(["source", "part", "game"], sort=False).ngroup().to_numpy()
    model = ConditionalLogit(rows["y"].astype(int).to_numpy(), x, groups=number)
    beta = model.fit(disp=0, method="newton", maxiter=200).params
    scores = np.array([model.score_grp(group, beta) for group in range(number.max() + 1)])
    bread = np.linalg.inv(-model.hessian(beta))
    owner = owners(rows).to_numpy().astype(str)
    sets = np.unique(number, return_index=True)[1]
    covariance, clusters = meat(scores, game[sets])
    if not all(name.startswith("?") for name in owner):
        by_owner, players = meat(scores, owner[sets])
        both, _ = meat(scores, np.array([f"{game[at]} {owner[at]}" for at in sets]))
        covariance, clusters = covariance + by_owner - both, min(clusters, players)
    values, vectors = np.linalg.eigh(bread @ covariance @ bread)
    se = np.sqrt((vectors @ np.diag(np.maximum(values, 0)) @ vectors.T)[0, 0])
    t = stats.t.ppf(0.975, clusters - 1)
    return np.exp(beta[0]), np.exp(beta[0] - t * se), np.exp(beta[0] + t * se)


def check(con, claim, answer, sample, counts, figures, fitted):
    """Compares an answer with all of it."""
    name = answer["claim"]["name"]
    evidence = Evidence(con, claim, sample)
    for row in answer["comparison"] + answer["sensitivity"]:
        cells = evidence.of(row)
        total = cells.sum(axis=2)
        at = f"{name} {row['varied']} k {row['k']} turns {row['turns']} within {row['within']} {row['outcome']}"
        both = (total[0] > 0) & (total[2] > 0)
        counts.equal(f"{at} rows", row["held_rows"], int(total[4].sum()))
        counts.equal(f"{at} turns", row["held"], int(total[0].sum()))
        counts.equal(f"{at} outcomes", row["held_outcomes"], int(total[1].sum()))
        counts.equal(f"{at} compared", row["compared_held"], int(total[0][both].sum()))
        counts.equal(f"{at} free", row["compared_free"], int(total[2][both].sum()))
        counts.equal(f"{at} free outcomes", row["compared_free_outcomes"], int(total[3][both].sum()))
        counts.equal(f"{at} strata", row["strata"], int(both.sum()))
        for part, theirs in zip(["held_rate", "free_rate", "ratio", "difference"], standardised(total), strict=True):
            figures.close(f"{at} {part}", row[part]["value"], float(theirs), scale=1.0)
        given = row["ratio"]["jackknife"]
        if given is not None:
            low, high = interval(standardised(total)[2], list(without_one(cells).values()), folds(cells))
            figures.close(f"{at} ratio low", given["low"], low)
            figures.close(f"{at} ratio high", given["high"], high)
    check_guards(name, evidence, answer["guards"], answer, figures)
    check_twins(name, evidence, answer["twins"], counts, fitted)


def check_guards(name, evidence, guards, answer, figures):
    whole, others, placebo = evidence.guards()
    for what, cells in [("others", others), ("placebo", placebo)]:
        given = guards[what]
        if cells is None:
            figures.equal(f"{name} {what}", given, None)
            continue
        figures.close(f"{name} {what}", given["ratio"]["value"], float(standardised(cells.sum(axis=2))[2]))
        value, bounds = quotient(whole, cells)
        figures.close(f"{name} beyond {what}", given["beyond"]["value"], value)
        if given["beyond"]["jackknife"] is not None:
            for end, theirs in zip(["low", "high"], bounds, strict=True):
                figures.close(f"{name} beyond {what} {end}", given["beyond"]["jackknife"][end], theirs)
    own = next(row for row in answer["comparison"] if row["within"] == answer["claim"]["within"])["ratio"]
    if own["jackknife"] is not None:
        figures.close(f"{name} E-value", guards["e_value"]["estimate"], float(e_value(own["value"])))
        low, high = own["jackknife"]["low"], own["jackknife"]["high"]
        limit = 1.0 if low <= 1 <= high else float(e_value(low if low > 1 else high))
        figures.close(f"{name} E-value of the limit", guards["e_value"]["limit"], limit)


def check_twins(name, evidence, twins, counts, fitted):
    rows = evidence.twins()
    sets = rows.groupby(["source", "part", "game", "ply", "kind"])["y"].mean()
    telling = int(((sets > 0) & (sets < 1)).sum())
    for given in twins:
        at = f"{name} twins, {given['adjusted']}"
        counts.equal(f"{at} sets", given["sets"], len(sets))
        counts.equal(f"{at} telling", given["telling"], telling)
        for what, of in [("own", rows[rows.e]), ("free", rows[~rows.e])]:
            counts.equal(f"{at} {what}", given[what], len(of))
            counts.equal(f"{at} {what} met", given[f"{what}_met"], int(of["y"].sum()))
        ours = given["odds_ratio"]
        if ours["jackknife"] is None:
            continue
        ratio, low, high = conditional(rows, COVARIATES[given["adjusted"]])
        fitted.close(f"{at} odds ratio", ours["value"], float(ratio))
        fitted.close(f"{at} low", ours["jackknife"]["low"], float(low))
        fitted.close(f"{at} high", ours["jackknife"]["high"], float(high))
