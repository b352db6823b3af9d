"""The rung "played against not played" of a claim once more, from the table `decisions` alone.

Direct standardisation to the turns at which a restraining move was played (Miettinen 1972) and the
delete-a-fold jackknife (Tukey 1958), once by games and once by players, the wider interval of the
two; E-value after VanderWeele and Ding. In SQL and numpy, from schemas/definitions.md, section 12.
"""

import numpy as np
from scipy import stats

from cells import FREE_ROWS, key
from evidence import e_value, standardised
from filters import one_of

FATES = {"lost": "fate = 'lost'", "captured": "fate <> 'survived'"}
KEPT = {"format", "about", "title", "text", "kinds", "k", "restrained", "by", "developed", "within", "outcome",
        "quiz", "phase", "band", "time_class", "quiet", "cause", "turns"}
MOST = {"knight": 1, "bishop": 1, "rook": 2, "queen": 2}
MATERIAL = (1, 3, 5, 10, 20)


def is_measured(claim):
    """Whether the rung is measured for a claim."""
    kinds = claim.get("kinds", list(MOST))
    k = claim.get("k", 2)
    by = claim.get("by", "any")
    return (claim.get("restrained", "any") == "yes" and set(claim) <= KEPT and claim.get("turns", 2) <= 2
            and all(k <= MOST[kind] for kind in kinds) and (by == "any" or all(k == MOST[kind] for kind in kinds))
            and claim.get("outcome", "lost") != "evaluation")


def met(claim):
    """SQL for the claim's outcome; `false` where it is a mean."""
    within = claim.get("within", 10)
    outcome = claim.get("outcome", "lost")
    if outcome in FATES:
        return f"{FATES[outcome]} and fate_ply::int - ply <= {2 * within}"
    if outcome == "another piece lost":
        return f"others_lost_ply::int - ply <= {2 * within}"
    if outcome == "material lost":
        known = ", ".join(f"material_{n}" for n in reversed(MATERIAL) if n <= within)
        return f"coalesce({known}) >= 2"
    return "false"


def cells(con, claim, by_player, against, least=FREE_ROWS):
    """Arrays [what, stratum, fold] of both sides: rows, outcomes, others lost, scored, half points."""
    k, by = claim.get("k", 2), claim.get("by", "any")
    kinds = claim.get("kinds", list(MOST))
    where = [one_of("kind", kinds)]
    for field, column in (("phase", "phase"), ("time_class", "time_class"), ("band", "owner_band")):
        if claim.get(field):
            where.append(one_of(column, claim[field]))
    few = " + ".join(f"coalesce(leaving_{n}, 0)" for n in range(k + 1))
    moves = {"any": f"({few})", "pawn": "by_pawn", "piece": f"(({few}) - by_pawn)"}[by]
    named = {"any": "true", "pawn": "played = 'pawn'", "piece": "played <> 'pawn'"}[by]
    took = f"(restrains and coalesce(squares_left <= {k}, false))"
    others = "true" if against == "anything else played" else "played_quiet"
    rows = con.execute(
        f"""with turns as (
            select kind, phase, time_class, band, least(ply // 10, 14) as tens,
                   {key("balance", k)} as level,
                   least(greatest(ceil(log2(safe - {k})), 0), 3) as squares,
                   least(ceil(log2({moves})), 3) as number,
                   {'coalesce(player_fold::int, 64 + fold)' if by_player else 'fold::int'} as fold,
                   {took} and {named} as done, coalesce({met(claim)}, false) as came,
                   coalesce(others_lost_ply::int - ply <= {2 * claim.get('within', 10)}, false) as others_came,
                   case mover_result when 'win' then 2 when 'draw' then 1 when 'loss' then 0 end as half_points
            from decisions
            where {' and '.join(f'({one})' for one in where)} and {moves} > 0
              and not ({took} and not {named}) and ({took} or {others})
        )
        select dense_rank() over (order by kind, phase, time_class, band, tens, level, squares, number) - 1 as s,
               fold, done, count(*) as n, count(*) filter (came) as y, count(*) filter (others_came) as o,
               count(half_points) as scored, coalesce(sum(half_points), 0) as points
        from turns group by kind, phase, time_class, band, tens, level, squares, number, fold, done"""
    ).fetchnumpy()
    strata = int(rows["s"].max()) + 1 if len(rows["s"]) else 0
    found = np.zeros((2, 5, strata, 128))
    side = np.where(np.asarray(rows["done"]), 0, 1)
    for at, name in enumerate(["n", "y", "o", "scored", "points"]):
        values = np.asarray(rows[name], dtype=float)
        np.add.at(found[:, at], (side, np.asarray(rows["s"]), np.asarray(rows["fold"]).astype(int)), values)
    thin = found[1, 0].sum(axis=1) < least
    found[1][:, thin, :] = 0
    if least == FREE_ROWS:
        # A stratum in which it was never played bears on no figure.
        found[1][:, found[0, 0].sum(axis=1) == 0, :] = 0
    return found


TABLES = {"outcome": (0, 1), "others": (0, 2), "score": (3, 4)}


def table(found, what):
    """[played, with, not played, with] by stratum and fold."""
    trials, events = TABLES[what]
    return np.stack([found[0, trials], found[0, events], found[1, trials], found[1, events]])


SCALES = {
    "logit": (lambda p: np.log(p / (1 - p)), lambda x: 1 / (1 + np.exp(-x))),
    "log": (np.log, np.exp),
    "plain": (lambda x: x, lambda x: x),
}


def interval(cells_, at, scale):
    """Jackknife interval of a figure of `standardised`, or None."""
    forward, back = SCALES[scale]
    total = cells_.sum(axis=2)
    there = [fold for fold in range(128) if cells_[:, :, fold].sum() > 0]
    with np.errstate(all="ignore"):
        values = forward(np.array([standardised(total - cells_[:, :, fold])[at] for fold in there], dtype=float))
        whole = forward(float(standardised(total)[at]))
        both = (total[0] > 0) & (total[2] > 0)
        groups = min(int((cells_[side][both].sum(axis=0) > 0).sum()) for side in (0, 2))
        g = len(there)
        se = np.sqrt((g - 1) / g * np.sum((values - values.mean()) ** 2))
        t = stats.t.ppf(0.975, groups - 1)
        return float(back(whole - t * se)), float(back(whole + t * se))


def check(con, claim, answer, sample, counts, figures):
    """Compares the answer's decision with all of it."""
    name, given = answer["claim"]["name"], answer["decision"]
    if not is_measured(claim):
        counts.equal(f"{name}: no decision", given, None)
        return
    for row in given["compared"]:
        by_games, by_players = (cells(con, claim, by_player, row["against"]) for by_player in (False, True))
        at = f"{name} against {row['against']}"
        outcome = table(by_games, "outcome").sum(axis=2)
        both = (outcome[0] > 0) & (outcome[2] > 0)
        if row["against"] == "anything else played":
            every = chances(con, claim)
            counts.equal(f"{at} rows", given["rows"], every[0])
            counts.equal(f"{at} chances", given["chances"], every[0] * sample)
            counts.equal(f"{at} all played", given["played"], every[1])
        counts.equal(f"{at} played", row["played"], int(outcome[0][both].sum()))
        counts.equal(f"{at} outcomes", row["outcomes"], int(outcome[1][both].sum()))
        counts.equal(f"{at} not played", row["not_played"], int(outcome[2][both].sum()))
        counts.equal(f"{at} not played, outcomes", row["not_played_outcomes"], int(outcome[3][both].sum()))
        counts.equal(f"{at} strata", row["strata"], int(both.sum()))
        for field, what, place, scale, per in [
            ("rate", "outcome", 0, "logit", 1), ("not_played_rate", "outcome", 1, "logit", 1),
            ("ratio", "outcome", 2, "log", 1), ("difference", "outcome", 3, "plain", 1),
            ("others", "others", 2, "log", 1), ("score", "score", 0, "plain", 2),
            ("not_played_score", "score", 1, "plain", 2), ("score_difference", "score", 3, "plain", 2),
        ]:
            ours = row[field]
            value = float(standardised(table(by_games, what).sum(axis=2))[place]) / per
            figures.close(f"{at} {field}", ours["value"], value, scale=1.0)
            if ours["jackknife"] is None:
                continue
            ends = [interval(table(found, what), place, scale) for found in (by_games, by_players)]
            low, high = max(ends, key=lambda pair: pair[1] - pair[0] if np.isfinite(pair[1] - pair[0]) else -1)
            figures.close(f"{at} {field} low", ours["jackknife"]["low"], low / per, scale=1.0)
            figures.close(f"{at} {field} high", ours["jackknife"]["high"], high / per, scale=1.0)
        ratio = row["ratio"]
        if ratio["jackknife"] is not None and row["e_value"] is not None:
            low, high = ratio["jackknife"]["low"], ratio["jackknife"]["high"]
            limit = 1.0 if low <= 1 <= high else float(e_value(low if low > 1 else high))
            figures.close(f"{at} E-value", row["e_value"][0], float(e_value(ratio["value"])))
            figures.close(f"{at} E-value of the limit", row["e_value"][1], limit)


def chances(con, claim):
    """All chances of the claim in the sample, and those taken."""
    played, not_played = cells(con, claim, False, "anything else played", least=0)[:, 0].sum(axis=(1, 2))
    return int(played + not_played), int(played)
