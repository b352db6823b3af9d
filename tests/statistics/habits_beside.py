"""A player's figures beside those of others, worked out again: with numpy and scipy from the counts
by side, and which of them are named with statsmodels."""

import math

import numpy as np
from scipy import stats
from statsmodels.stats.multitest import multipletests


def se(values):
    """Jackknife standard error of figures with one group left out each."""
    values = np.asarray(values, dtype=float)
    if len(values) < 2 or not np.isfinite(values).all() or np.ptp(values) == 0:
        return None
    g = len(values)
    return float(math.sqrt((g - 1) / g * ((values - values.mean()) ** 2).sum()))


# Figures that are counted in the sample of turns.
SAMPLED = ("chances_", "missed_worse", "restrained_hurried", "restrained_unhurried", "seconds_")

SCALES = {
    "log": (np.log, np.exp),
    "logit": (lambda x: np.log(x / (1 - x)), lambda x: 1 / (1 + np.exp(-x))),
    "plain": (lambda x: x, lambda x: x),
}


def bounds(scale, value, error, df):
    """Interval around a figure, or None."""
    forward, back = SCALES[scale]
    if error is None or df < 1:
        return None
    middle, width = forward(value), stats.t.ppf(0.975, df) * error
    low, high = float(back(middle - width)), float(back(middle + width))
    return (low, high) if np.isfinite([middle, low, high]).all() else None


def check_interval(report, what, ours, theirs):
    """Both bounds, or that there is none."""
    if ours is None or theirs is None:
        report.same(what, ours, theirs)
    else:
        report.same(f"{what} low", ours["low"], theirs[0])
        report.same(f"{what} high", ours["high"], theirs[1])


class Others:
    """Peers by stratum and fold, and which strata have enough of them."""

    def __init__(self, n, d, folds, strata, own, unit, p):
        weights = {s: int(d[own & (strata == s)].sum()) for s in set(strata[own].tolist())}
        self.any = used = sorted(s for s, w in weights.items() if w and d[~own & (strata == s)].sum())
        self.n, self.d, self.own, self.strata = n, d, own, strata
        self.scale = "logit" if unit == "share" else "log"
        self.each = 0.001 if unit == "seconds" else 1.0
        sums = np.zeros((2, len(used), 64), dtype=np.int64)
        for i, s in enumerate(used):
            which = ~own & (strata == s)
            np.add.at(sums[0, i], folds[which], n[which])
            np.add.at(sums[1, i], folds[which], d[which])
        if used:
            base = sums[1].sum(axis=1)
            both = own & np.isin(strata, used)
            common = (sums[0].sum() + n[both].sum()) / (base.sum() + d[both].sum())
            enough = ((sums[1] > 0).sum(axis=1) >= 5) & (base * common >= 10)
            if unit == "share":
                enough &= base - base * common >= 10
            self.sums, self.used = sums[:, enough], [s for s, e in zip(used, enough) if e]
            self.w = np.array([weights[s] for s in self.used], dtype=float)
            self.covered = self.w.sum() / sum(weights.values())

    def figure(self, out=None):
        """The figure in the player's mix."""
        nn = self.sums[0].sum(axis=1) - (0 if out is None else self.sums[0][:, out])
        dd = self.sums[1].sum(axis=1) - (0 if out is None else self.sums[1][:, out])
        return float((self.w * self.each * nn / dd).sum() / self.w.sum())

    def df(self):
        """Degrees of freedom of its error, over the strata."""
        parts = []
        for i, w in enumerate(self.w):
            n, d = self.sums[0, i], self.sums[1, i]
            with_base = np.flatnonzero(d)
            error = se(self.each * (n.sum() - n[with_base]) / (d.sum() - d[with_base])) or 0.0
            parts.append(((w * error) ** 2, len(with_base) - 1))
        return satterthwaite(parts)


def satterthwaite(parts):
    """Degrees of freedom of a sum of variances."""
    with np.errstate(all="ignore"):
        return float(np.float64(sum(v for v, _ in parts)) ** 2 / sum(np.float64(v) ** 2 / df for v, df in parts))


def beside_peers(measure_, others, report, what, enough):
    """The comparison with sides in other games."""
    if not others.any:
        report.same(f"{what}: no peers", measure_["ratio"]["value"], None)
        return
    report.same(f"{what}: peers' events", measure_["peers"]["events"], int(others.sums[0].sum()))
    report.same(f"{what}: peers' base", measure_["peers"]["base"], int(others.sums[1].sum()))
    report.same(f"{what}: covered", measure_["covered"], float(others.covered))
    there = others.covered >= 0.8 and (others.sums[0].sum(axis=0) > 0).sum() >= 5
    theirs = others.figure() if there else None
    report.same(f"{what}: peers' value", measure_["peers"]["value"], theirs)
    if not (enough and there):
        report.same(f"{what}: too few", measure_["ratio"]["value"], None)
        return
    without = np.array([others.figure(fold) for fold in np.flatnonzero(others.sums[1].sum(axis=0))])
    compared = others.own & np.isin(others.strata, others.used)
    n, d = others.n[compared], others.d[compared]
    some = (n > 0) | (d > 0)
    mine = others.each * n.sum() / d.sum()
    ratio = float(mine / theirs)
    report.same(f"{what}: ratio", measure_["ratio"]["value"], ratio)
    report.same(f"{what}: difference", measure_["difference"]["value"], float(mine - theirs))
    with np.errstate(divide="ignore", invalid="ignore"):
        left = others.each * (n.sum() - n[some]) / (d.sum() - d[some])
        for field, on, middle in [("ratio", "log", ratio), ("difference", "plain", mine - theirs)]:
            a, b = se(SCALES[on][0](left)), se(SCALES[on][0](without))
            both = None if a is None or b is None else math.hypot(a, b)
            df = 0 if both is None else int(1e-6 + satterthwaite([(a * a, int(some.sum()) - 1), (b * b, others.df())]))
            check_interval(report, f"{what}: {field}", measure_[field]["jackknife"], bounds(on, middle, both, df))
        error = se(SCALES[others.scale][0](without))
    df = 0 if error is None else int(1e-6 + others.df())
    check_interval(report, f"{what}: peers' interval", measure_["peers"]["interval"],
                   bounds(others.scale, theirs, error, df))


def beside_opponents(con, measure_, where, base, p, report, what, enough):
    """The comparison with the opponents, game by game: a linear contrast of two means, left out one at a time."""
    name = measure_["name"]
    rows = con.execute(
        f"""
        select m.n, m.d, o.n, o.d from
            (select source, game, coalesce(n_{name}, 0) as n, {base} as d from counted where own and {where}) m
            join (select source, game, coalesce(n_{name}, 0) as n, {base} as d from counted where opponent) o
            using (source, game)
        """
    ).fetchall()
    games = np.array(rows, dtype=np.int64).reshape(-1, 4)
    whole = games.sum(axis=0)
    report.same(f"{what}: opponents' events", measure_["peers"]["events"], int(whole[2]))
    report.same(f"{what}: opponents' base", measure_["peers"]["base"], int(whole[3]))
    together = (games[:, 0] > 0).sum() + (games[:, 2] > 0).sum() >= 4 * p["minimum_event_games"]
    if not (enough and together and len(games) >= p["minimum_games"] and (games[:, 2] > 0).sum() >= p["minimum_event_games"]):
        report.same(f"{what}: too few", measure_["ratio"]["value"], None)
        return
    left = whole - games[games.sum(axis=1) > 0]
    each = 0.001 if measure_["unit"] == "seconds" else 1.0
    mine, theirs = each * whole[0] / whole[1], each * whole[2] / whole[3]
    report.same(f"{what}: opponents' value", measure_["peers"]["value"], float(theirs))
    report.same(f"{what}: ratio", measure_["ratio"]["value"], float(mine / theirs))
    report.same(f"{what}: difference", measure_["difference"]["value"], float(mine - theirs))
    with np.errstate(divide="ignore", invalid="ignore"):
        for field, on, middle in [("ratio", "log", mine / theirs), ("difference", "plain", mine - theirs)]:
            on_scale = SCALES[on][0]
            error = se(on_scale(each * left[:, 0] / left[:, 1]) - on_scale(each * left[:, 2] / left[:, 3]))
            check_interval(report, f"{what}: {field}", measure_[field]["jackknife"],
                           bounds(on, middle, error, len(left) - 1))


def named(measures, games, sample, opponents, report):
    """Which figures are named: statsmodels adjusts, the two thresholds are applied anew."""
    def mirrored(one):
        return opponents and one["name"].startswith(("opponent_", "chances_taken_against"))
    tried = [one for one in measures if one["ratio"]["jackknife"] and not mirrored(one)]
    p = []
    for one in tried:
        it = one["ratio"]["jackknife"]
        p.append(2 * stats.t.sf(abs(math.log(one["ratio"]["value"])) / it["se"], it["df"]))
    adjusted = multipletests(p, method="fdr_bh")[1] if p else []
    for one, q in zip(tried, adjusted):
        report.same(f"{one['name']}: adjusted", one["adjusted"], float(q))
        cases = abs(one["difference"]["value"])
        if one["unit"] != "per_game":
            cases *= one["you"]["base"] / games * (sample if one["name"].startswith(SAMPLED) else 1)
        ratio, it = one["ratio"]["value"], one["ratio"]["jackknife"]
        apart = not it["low"] <= 1 <= it["high"]
        large = max(ratio, 1 / ratio) >= 1.1 and cases >= 0.05
        report.same(f"{one['name']}: named", one["stands_out"], bool(apart and q <= 0.05 and large))
    report.same("figures tried", sum(one["adjusted"] is not None for one in measures), len(tried))
