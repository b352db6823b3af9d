"""Trend, hazard and incidence beside published libraries (see `estimators.py`)."""

import warnings

import numpy as np
import pandas as pd
import statsmodels.api as sm
from lifelines import AalenJohansenFitter, CoxTimeVaryingFitter
from scipy import stats
from statsmodels.stats.sandwich_covariance import cov_cluster, cov_cluster_2groups

from report import Check

OPTIMISED = 1e-8


def trend(program):
    check = Check("trend: slope, error, departure from a line", "statsmodels", OPTIMISED)
    rng = np.random.default_rng(21)
    size = 4000
    level = rng.integers(0, 5, size)
    first, second = rng.integers(0, 250, size), rng.integers(0, 90, size)
    shared = rng.normal(size=250)[first] * 0.4
    risk = 1 / (1 + np.exp(1 - 0.2 * level - shared))
    outcome = (rng.random(size) < risk).astype(float)
    weight = rng.choice([1.0, 16.0], size)
    frame = pd.DataFrame(
        {"level": level, "first": first, "second": second, "weight": weight, "outcome": outcome}
    )
    ours = program("trend", frame)
    fitted = sm.WLS(outcome, pd.get_dummies(level).astype(float), weights=weight).fit()
    means = np.asarray(fitted.params)
    covariance = 0
    both = first * 1_000 + second
    for sign, clusters in [(1, first), (1, second), (-1, both)]:
        groups = len(set(clusters))
        part = cov_cluster(fitted, clusters, use_correction=False)
        covariance = covariance + sign * groups / (groups - 1) * np.asarray(part)
    doses = sm.add_constant(np.arange(5.0))
    slopes = {
        "plain": (means, np.ones(5)),
        "log": (np.log(means), 1 / means),
        "logit": (np.log(means / (1 - means)), 1 / (means * (1 - means))),
    }
    groups = min(len(set(first)), len(set(second)))
    for scale, (figures, slope) in slopes.items():
        sigma = covariance * np.outer(slope, slope)
        theirs = sm.GLS(figures, doses, sigma=sigma).fit(cov_type="fixed scale")
        got = ours[scale]
        check.close(f"{scale} intercept", got["intercept"], theirs.params[0])
        check.close(f"{scale} slope", got["slope"], theirs.params[1])
        check.close(f"{scale} error", got["se"], theirs.bse[1])
        p = 2 * stats.t.sf(abs(theirs.params[1] / theirs.bse[1]), groups - 1)
        check.close(f"{scale} p", got["p"], p)
        statistic = theirs.wresid @ theirs.wresid
        f = statistic * (groups - 3) / (3 * (groups - 1))
        check.close(f"{scale} departure", got["departure"][0], statistic)
        check.equal(f"{scale} figures", got["departure"][1], 3)
        check.close(f"{scale} departure p", got["departure"][2], stats.f.sf(f, 3, groups - 3))
    check.report()


def histories(rng, units, turns, chance):
    """Units turn by turn: a state that comes and goes, an end by one of two causes."""
    rows = []
    for unit in range(units):
        cluster, state = unit // 3, 0
        for turn in range(1, turns + 1):
            state = int(rng.random() < (0.7 if state else 0.25))
            hazards = [chance * (2.0 if state else 1.0), chance * 0.7]
            end = int(np.searchsorted(np.cumsum(hazards), rng.random()))
            rows.append([unit, cluster, turn, state, int(end == 0), int(end == 1)])
            # Some leave without an end, after this turn.
            if end < 2 or rng.random() < 0.03:
                break
    return pd.DataFrame(rows, columns=["unit", "cluster", "turn", "state", "event", "other"])


def apart(frame):
    """The same histories with the ends at times that differ: turn t is shifted a little for
    each end, and only the units at risk at that end count at its time."""
    ends = frame[frame["event"] == 1].sort_values(["turn", "unit"])
    rows = []
    for number, (_, end) in enumerate(ends.iterrows(), start=1):
        at_risk = frame[frame["turn"] == end["turn"]]
        gone = ends[(ends["turn"] == end["turn"]) & (ends["unit"] < end["unit"])]["unit"]
        at_risk = at_risk[~at_risk["unit"].isin(gone)]
        for _, row in at_risk.iterrows():
            rows.append([row["unit"], number - 1, number, row["state"],
                         int(row["unit"] == end["unit"]), row["cluster"]])
    return pd.DataFrame(rows, columns=["id", "start", "stop", "state", "event", "cluster"])


def hazard(program):
    rates = Check("hazard by turn and state: rate and clustered error", "statsmodels", OPTIMISED)
    ties = Check("hazard ratio, shared turns: clustered error", "statsmodels Poisson", OPTIMISED)
    cox = Check("hazard ratio, turns apart", "lifelines CoxTimeVaryingFitter", 1e-5)
    frame = histories(np.random.default_rng(31), 600, 8, 0.05)
    columns = ["turn", "state", "cluster", "at_risk", "event"]
    frame["at_risk"] = 1
    ours = program("hazard", frame[columns])
    for turn, state, value, interval in ours["rates"]:
        part = frame[(frame["turn"] == turn) & (frame["state"] == state)]
        where = f"turn {turn} state {state}"
        rates.close(where, value, part["event"].mean())
        if interval is None:
            rates.equal(where, part["event"].sum() == 0, True)
            continue
        fitted = sm.OLS(part["event"], np.ones(len(part))).fit()
        groups = part["cluster"].nunique()
        plain = cov_cluster(fitted, part["cluster"], use_correction=False)
        error = np.sqrt(np.ravel(plain)[0] * groups / (groups - 1))
        error /= value * (1 - value)
        rates.close(where, interval[2], error)
        low = np.log(value / (1 - value)) - stats.t.ppf(0.975, groups - 1) * error
        rates.close(where, interval[0], 1 / (1 + np.exp(-low)))
    rates.equal("places", len(ours["rates"]), len(frame.groupby(["turn", "state"])))

    with_ends = frame[frame.groupby("turn")["event"].transform("sum") > 0]
    design = pd.get_dummies(with_ends["turn"]).astype(float)
    design.insert(0, "state", with_ends["state"].astype(float))
    fitted = sm.GLM(with_ends["event"], design, family=sm.families.Poisson()).fit(tol=1e-14)
    covariance = np.asarray(cov_cluster(fitted, with_ends["cluster"], use_correction=False))
    groups = frame["cluster"].nunique()
    ties.close("log ratio", ours["ratio"]["log"], fitted.params.iloc[0])
    ties.close("model error", ours["ratio"]["model_se"], fitted.bse.iloc[0])
    error = np.sqrt(covariance[0, 0] * groups / (groups - 1))
    ties.close("clustered error", ours["ratio"]["se"], error)

    spread = apart(frame)
    flat = spread.rename(columns={"stop": "turn"}).assign(at_risk=1)
    ours = program("hazard", flat[columns])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitter = CoxTimeVaryingFitter().fit(
            spread.drop(columns="cluster"), id_col="id", start_col="start", stop_col="stop",
            event_col="event", fit_options={"precision": 1e-12},
        )
    cox.close("log ratio", ours["ratio"]["log"], fitter.params_["state"])
    cox.close("error", ours["ratio"]["model_se"], fitter.standard_errors_["state"])
    for check in [rates, ties, cox]:
        check.report()


def shares(at_risk, ends):
    """Aalen and Johansen's shares from counts by time (and cause), leading axes carried."""
    hazards = ends / at_risk[..., None]
    free = np.cumprod(1 - hazards.sum(-1), axis=-1)
    before = np.concatenate([np.ones_like(free[..., :1]), free[..., :-1]], axis=-1)
    return np.cumsum(before[..., None] * hazards, axis=-2)


def incidence(program):
    values = Check("incidence, times apart", "lifelines AalenJohansenFitter", 1e-9)
    ties = Check("incidence, shared times", "numpy")
    errors = Check("incidence: clustered error", "numpy", 1e-7)
    rng = np.random.default_rng(41)
    size = 150
    cause = rng.choice([0, 1, 2], size, p=[0.3, 0.4, 0.3])
    rows = [
        [time, unit, 1, int(unit == time and cause[unit] == 1), int(unit == time and cause[unit] == 2)]
        for time in range(size)
        for unit in range(time, size)
    ]
    ours = program("incidence", pd.DataFrame(rows, columns=["time", "cluster", "n", "a", "b"]))
    for which in (1, 2):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            fitter = AalenJohansenFitter().fit(np.arange(size) + 1.0, cause, event_of_interest=which)
        curve = fitter.cumulative_density_.iloc[:, 0]
        for time, _, of_cause in ours:
            values.close(f"cause {which} at {time}", of_cause[which - 1][0], curve.loc[time + 1.0])

    frame = histories(np.random.default_rng(42), 900, 10, 0.06)
    frame["at_risk"] = 1
    ours = program("incidence", frame[["turn", "cluster", "at_risk", "event", "other"]])
    clusters, turns = frame["cluster"].nunique(), frame["turn"].max()
    at_risk = np.zeros((clusters, turns))
    ends = np.zeros((clusters, turns, 2))
    np.add.at(at_risk, (frame["cluster"], frame["turn"] - 1), 1)
    for number, name in enumerate(["event", "other"]):
        np.add.at(ends, (frame["cluster"], frame["turn"] - 1, number), frame[name])
    whole = shares(at_risk.sum(0), ends.sum(0))
    # The influence of a cluster: the share's derivative by the cluster's weight.
    by = 1e-5
    more = shares(at_risk.sum(0) + by * at_risk, ends.sum(0) + by * ends)
    less = shares(at_risk.sum(0) - by * at_risk, ends.sum(0) - by * ends)
    squares = (((more - less) / (2 * by)) ** 2).sum(0)
    error = np.sqrt(clusters / (clusters - 1) * squares) / (whole * (1 - whole))
    for at, (_, free, of_cause) in enumerate(ours):
        ties.close(f"free at {at}", free, 1 - whole[at].sum())
        for number in (0, 1):
            ties.close(f"cause {number} at {at}", of_cause[number][0], whole[at, number])
            errors.close(f"cause {number} at {at}", of_cause[number][1][2], error[at, number])
    for check in [values, ties, errors]:
        check.report()
