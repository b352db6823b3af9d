"""What became of the side of a claim's pieces, once more from the Parquet tables alone.

Means and rates over the weighted rows of `turns`, standardised to the claim's pieces (Miettinen
1972), and the delete-a-fold jackknife on the plain scale (Tukey 1958); the publications in full in
pipeline/statistics/src/sources.rs. Balance and evaluation are those after so many moves; where the game ends before, the last that the table has.
"""

import numpy as np
from scipy import stats

from evidence import ALL, ASKED, FREE_ROWS, Evidence, e_value, folds, standardised

KEPT = {"material": [1, 3, 5, 10, 20], "eval": [1, 3, 5, 10]}


def change(column, moves):
    """SQL for the change after so many moves, or the last before the end of the game."""
    lasting = [n for n in KEPT[column] if n <= moves]
    cases = " ".join(f"when plies_left >= {2 * n} then {column}_{n}" for n in reversed(lasting))
    return f"(case {cases} end)"


def value(row):
    """SQL for the value of an outcome at a row; null where it is not known."""
    moves = row["within"]
    return {
        "score": lambda: "(case owner_result when 'win' then 1 when 'draw' then 0.5 when 'loss' then 0 end)",
        "material lost": lambda: f"({change('material', moves)} <= -2)",
        "another piece lost": lambda: f"coalesce(others_lost_ply::int - ply::int <= {2 * moves}, false)",
        "evaluation": lambda: f"(round({change('eval', moves)}::double * 100) / 100)",
    }[row["outcome"]]()


def cells(evidence, row, own=None, but="false"):
    """Arrays [what, stratum, fold]: turns, sums of values, turns and sums of free ones, rows.

    Free pieces to whom `but` applies are left out.
    """
    own = own or evidence.own(evidence.k, evidence.turns)
    keys = ", ".join([*(key for key in ALL if key not in ASKED), "rating_diff"])
    rows = evidence.con.execute(
        f"""with counted as (
            select {keys}, fold, w, {value(row)}::double as v,
                   coalesce({own}, false) as e,
                   coalesce({evidence.free(evidence.k)} and not ({but}), false) as f
            from looked
        ) select dense_rank() over (order by {keys}) - 1 as s, fold,
                 sum(w) filter (e), sum(w * v) filter (e),
                 sum(w) filter (f and not e), sum(w * v) filter (f and not e),
                 count(*) filter (e), count(*) filter (f and not e)
          from counted where v is not null group by {keys}, fold"""
    ).fetchall()
    found = np.zeros((6, 1 + max((one[0] for one in rows), default=-1), 64))
    for stratum, fold, *numbers in rows:
        found[:, stratum, fold] += [float(number or 0) for number in numbers]
    found = found[:, found[0].sum(axis=1) > 0, :]
    thin = found[5].sum(axis=1) < FREE_ROWS
    for side in (2, 3, 5):
        found[side, thin, :] = 0
    return found


def plain(found):
    """The difference's interval by leaving out one fold each."""
    total = found.sum(axis=2)
    left = [fold for fold in range(64) if found[[4, 5], :, fold].sum() > 0]
    without = np.array([standardised(total - found[:, :, fold])[3] for fold in left])
    groups = len(left)
    se = np.sqrt((groups - 1) / groups * np.sum((without - without.mean()) ** 2))
    t = stats.t.ppf(0.975, folds(found) - 1)
    middle = standardised(total)[3]
    return float(middle - t * se), float(middle + t * se)


def beyond(own, other):
    """The difference of the first less that of the second, and its interval."""
    left = [
        {fold: standardised(found.sum(axis=2) - found[:, :, fold])[3] for fold in range(64) if found[[4, 5], :, fold].sum() > 0}
        for found in (own, other)
    ]
    whole = [standardised(found.sum(axis=2))[3] for found in (own, other)]
    without = np.array(
        [left[0].get(fold, whole[0]) - left[1].get(fold, whole[1]) for fold in sorted(set(left[0]) | set(left[1]))]
    )
    groups = len(without)
    se = np.sqrt((groups - 1) / groups * np.sum((without - without.mean()) ** 2))
    t = stats.t.ppf(0.975, min(folds(own), folds(other)) - 1)
    middle = whole[0] - whole[1]
    return float(middle), float(middle - t * se), float(middle + t * se)


def check_guard(evidence, claim, answer, figures):
    """The milder restraint beside a claim about the score."""
    guards = answer["guards"]["side"]
    if claim.get("outcome") != "score":
        figures.equal(f"{answer['claim']['name']} guards of the side", guards, None)
        return
    at = f"{answer['claim']['name']} guard"
    row = {"outcome": "score", "within": claim.get("within", 10)}
    # Both beside the free pieces that are neither.
    milder = evidence.placebo()
    own, other = cells(evidence, row, but=f"coalesce({milder}, false)"), cells(evidence, row, milder)
    total = cells(evidence, row).sum(axis=2)
    if ((total[0] > 0) & (total[2] > 0)).any():
        ratio = standardised(total)[2]
        if guards["e_value"] is not None:
            figures.close(f"{at} E-value", guards["e_value"]["estimate"], float(e_value(ratio)))
    total = other.sum(axis=2)
    placebo = guards["placebo"]
    figures.equal(f"{at} rows", placebo["sides"]["held_rows"], int(total[4].sum()))
    if placebo["beyond"]["jackknife"] is None:
        return
    _, _, _, difference = standardised(total)
    figures.close(f"{at} difference", placebo["sides"]["difference"]["value"], float(difference), scale=1.0)
    middle, low, high = beyond(own, other)
    figures.close(f"{at} beyond", placebo["beyond"]["value"], middle, scale=1.0)
    figures.close(f"{at} beyond low", placebo["beyond"]["jackknife"]["low"], low, scale=1.0)
    figures.close(f"{at} beyond high", placebo["beyond"]["jackknife"]["high"], high, scale=1.0)


def check(con, claim, answer, sample, counts, figures):
    """Compares the outcomes of the side with all of it."""
    evidence = Evidence(con, claim, sample)
    check_guard(evidence, claim, answer, figures)
    for row in answer["side"]:
        found = cells(evidence, row)
        total = found.sum(axis=2)
        at = f"{answer['claim']['name']} {row['outcome']} {row['within']}"
        both = (total[0] > 0) & (total[2] > 0)
        counts.equal(f"{at} rows", row["held_rows"], int(total[4].sum()))
        counts.equal(f"{at} turns", row["held"], int(total[0].sum()))
        counts.equal(f"{at} free rows", row["free_rows"], int(total[5][both].sum()))
        counts.equal(f"{at} strata", row["strata"], int(both.sum()))
        if not both.any():
            continue
        own, free, ratio, difference = standardised(total)
        for part, theirs in [("held_value", own), ("free_value", free), ("difference", difference)]:
            figures.close(f"{at} {part}", row[part]["value"], float(theirs), scale=1.0)
        if row["ratio"] is not None:
            figures.close(f"{at} ratio", row["ratio"]["value"], float(ratio), scale=1.0)
        given = row["difference"]["jackknife"]
        if given is not None:
            for end, theirs in zip(["low", "high"], plain(found), strict=True):
                figures.close(f"{at} difference {end}", given[end], theirs, scale=1.0)
