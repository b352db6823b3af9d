"""The estimators of the crate of statistics beside published libraries, on made-up data.

- Conditional logistic regression: statsmodels ConditionalLogit (exact likelihood by
  recursion); clustered covariance worked out from its score, set by set, in numpy.
- Models with weights: statsmodels GLM with freq_weights, covariance "cluster" one way and
  two ways.
- Standardisation: the mean risks of statsmodels' model; their covariance by stacked
  estimating equations whose derivatives are taken numerically.
- Hazard ratio: lifelines CoxTimeVaryingFitter where no two ends share a turn; statsmodels
  Poisson with an indicator a turn where they do.
- Incidence: lifelines AalenJohansenFitter where no two ends share a time; its clustered
  error by each cluster's influence, a derivative taken numerically.
- Trend: statsmodels GLS on the means, with their covariance from OLS by clusters.
- False discovery: statsmodels multipletests. E-value: the worked example of VanderWeele and
  Ding 2017 (in full in pipeline/statistics/src/sources.rs).

Statsmodels multiplies a clustered covariance by G / (G - 1) x (n - 1) / (n - k); the program
by G / (G - 1) alone. The factor is taken out here.

`estimators_in_r.py` compares with R's package survival, where R is installed.
"""

import argparse
import io
import json
import subprocess
import sys
import warnings

import numpy as np
import pandas as pd
import statsmodels.api as sm
from scipy import stats
from statsmodels.discrete.conditional_models import ConditionalLogit
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.sandwich_covariance import cov_cluster, cov_cluster_2groups

from report import Check

# Optimisers stop at different distances from the maximum.
OPTIMISED = 1e-8


class Program:
    """Runs the example `estimate` of the crate."""

    def __init__(self, path):
        self.path = path

    def __call__(self, what, frame):
        text = io.StringIO()
        frame.to_csv(text, index=False)
        done = subprocess.run(
            [self.path, what], input=text.getvalue(), capture_output=True, text=True
        )
        if done.returncode != 0:
            raise SystemExit(f"estimate {what}: {done.stderr}")
        return json.loads(done.stdout)


def matrices(check, where, ours, theirs):
    """Every value of a covariance; its size is that of both standard errors."""
    ours, theirs = np.asarray(ours), np.asarray(theirs)
    check.equal(f"{where} shape", ours.shape, theirs.shape)
    sizes = np.sqrt(np.outer(np.diag(theirs), np.diag(theirs)))
    for at in np.ndindex(theirs.shape):
        check.close(f"{where} {at}", ours[at], theirs[at], scale=sizes[at])


def vectors(check, where, ours, theirs):
    for at, (a, b) in enumerate(zip(ours, theirs, strict=True)):
        check.close(f"{where} {at}", float(a), float(b))


def inverse_information(score, beta):
    """From central differences of the score: statsmodels takes them on one side only."""
    slopes = []
    for step in np.eye(len(beta)) * 1e-5:
        slopes.append((score(beta - step) - score(beta + step)) / 2e-5)
    return np.linalg.inv((np.array(slopes) + np.array(slopes).T) / 2)


def meat(scores, clusters):
    """Sum of outer products of the scores of a cluster, times G / (G - 1)."""
    sums = pd.DataFrame(scores).groupby(np.asarray(clusters)).sum().to_numpy()
    groups = len(sums)
    return groups / (groups - 1) * sums.T @ sums


def two_way_meat(scores, first, second):
    both = np.asarray(first) * 1_000_003 + np.asarray(second)
    return meat(scores, first) + meat(scores, second) - meat(scores, both)


def matched_sets(seed, most_cases):
    """Sets of two to six rows in clusters, with up to so many cases."""
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(400):
        size = rng.integers(2, 7)
        first, second = int(rng.integers(60)), int(rng.integers(25))
        x = rng.normal(size=(size, 3))
        x[:, 0] = rng.random(size) < 0.4
        chance = np.exp(x @ [0.8, -0.5, 0.0] + rng.normal())
        cases = rng.integers(0, min(most_cases, size) + 1)
        chosen = rng.choice(size, cases, replace=False, p=chance / chance.sum())
        for at in range(size):
            rows.append([number, first, second, int(at in chosen), *x[at]])
    return pd.DataFrame(rows, columns=["set", "first", "second", "case", "a", "b", "c"])


def conditional_logit(program):
    estimate = Check("conditional logit: coefficients, likelihood", "statsmodels", OPTIMISED)
    model = Check("conditional logit: covariance by the model", "statsmodels", OPTIMISED)
    robust = Check("conditional logit: covariance by clusters", "statsmodels, numpy", OPTIMISED)
    for seed, most in [(1, 1), (2, 3), (3, 6)]:
        frame = matched_sets(seed, most)
        ours = program("conditional-logit", frame)
        x = frame[["a", "b", "c"]].to_numpy()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            fitted = ConditionalLogit(frame["case"], x, groups=frame["set"])
            theirs = fitted.fit(method="newton", maxiter=50, disp=0)
        where = f"up to {most} cases"
        for way in ["one_way", "two_ways"]:
            vectors(estimate, where, ours[way]["coefficients"], theirs.params)
            estimate.close(where, ours[way]["log_likelihood"], theirs.llf)
        used = frame.groupby("set")["case"].agg(["sum", "size", "first"])
        informative = (used["sum"] > 0) & (used["sum"] < used["size"])
        estimate.equal(f"{where} sets", ours["sets"], int(informative.sum()))
        estimate.equal(f"{where} left out", ours["left_out"], int((~informative).sum()))
        # Sets in the order of the rows, as statsmodels keeps them.
        order = frame.drop_duplicates("set").set_index("set")[informative]
        first, second = order["first"].to_numpy(), order["second"].to_numpy()
        beta = np.asarray(theirs.params)
        scores = np.array([fitted.score_grp(at, beta) for at in range(len(order))])
        bread = inverse_information(fitted.score, beta)
        for way in ["one_way", "two_ways"]:
            matrices(model, where, ours[way]["covariance"], bread)
        one = bread @ meat(scores, first) @ bread
        two = bread @ two_way_meat(scores, first, second) @ bread
        matrices(robust, f"{where} one way", ours["one_way"]["clustered"], one)
        matrices(robust, f"{where} two ways", ours["two_ways"]["clustered"], two)
        error = np.sqrt(np.diag(one))
        p = 2 * stats.t.sf(np.abs(theirs.params) / error, len(set(first)) - 1)
        vectors(robust, f"{where} p", ours["one_way"]["p"], p)
    for check in [estimate, model, robust]:
        check.report()


def weighted_rows(seed):
    """Rows in clusters two ways, a third of them exposed; comparison rows of weight 1 or 16."""
    rng = np.random.default_rng(seed)
    size = 3000
    first, second = rng.integers(0, 300, size), rng.integers(0, 80, size)
    x = np.column_stack([rng.normal(size=size), rng.random(size) < 0.3]).astype(float)
    exposed = (rng.random(size) < 1 / (1 + np.exp(1 - x[:, 0]))).astype(float)
    shared = rng.normal(size=300)[first] * 0.5
    risk = 1 / (1 + np.exp(2.2 - 0.5 * exposed - 0.6 * x[:, 0] - 0.4 * x[:, 1] - shared))
    event = (rng.random(size) < risk).astype(float)
    weight = np.where((exposed == 0) & (rng.random(size) < 0.5), 16.0, 1.0)
    return pd.DataFrame(
        {
            "first": first,
            "second": second,
            "trials": weight,
            "events": weight * event,
            "exposed": exposed,
            "x": x[:, 0],
            "y": x[:, 1],
        }
    )


def models(program):
    estimate = Check("weighted models: coefficients", "statsmodels", OPTIMISED)
    robust = Check("weighted models: covariance by clusters", "statsmodels", OPTIMISED)
    means = Check("standardised by a model: risks, ratio, difference", "statsmodels", OPTIMISED)
    errors = Check("standardised by a model: standard errors", "numpy", 1e-5)
    for link, family in [("logit", sm.families.Binomial()), ("log", sm.families.Poisson())]:
        frame = weighted_rows(11)
        ours = program(link, frame)
        design = sm.add_constant(frame[["exposed", "x", "y"]]).to_numpy()
        weight = frame["trials"].to_numpy()
        outcome = frame["events"].to_numpy() / weight
        first, second = frame["first"].to_numpy(), frame["second"].to_numpy()
        fitted = sm.GLM(outcome, design, family=family, freq_weights=weight).fit(tol=1e-14)
        for way in ["one_way", "two_ways"]:
            vectors(estimate, link, ours[way]["coefficients"], fitted.params)
        one = cov_cluster(fitted, first, use_correction=True)
        groups = len(set(first))
        # What statsmodels multiplies by beside G / (G - 1).
        size, columns = design.shape
        plain = cov_cluster(fitted, first, use_correction=False) * groups / (groups - 1)
        factor = one[0, 0] / plain[0, 0]
        robust.close(f"{link} factor", factor, (size - 1) / (size - columns))
        matrices(robust, f"{link} one way", ours["one_way"]["clustered"], one / factor)
        two, _, _ = cov_cluster_2groups(fitted, first, second, use_correction=True)
        matrices(robust, f"{link} two ways", ours["two_ways"]["clustered"], two / factor)
        standardised(link, frame, design, fitted.params, ours, (means, errors))
    for check in [estimate, robust, means, errors]:
        check.report()


def standardised(link, frame, design, beta, ours, checks):
    """Means over the exposed, and their covariance by stacked estimating equations."""
    means, errors = checks
    risk = {"logit": lambda eta: 1 / (1 + np.exp(-eta)), "log": np.exp}[link]
    weight, events = frame["trials"].to_numpy(), frame["events"].to_numpy()
    exposed = frame["exposed"].to_numpy() * weight
    bare = design.copy()
    bare[:, 1] = 0

    def equations(theta):
        beta, with_, without = theta[:-2], theta[-2], theta[-1]
        residual = events - weight * risk(design @ beta)
        return np.column_stack(
            [
                residual[:, None] * design,
                exposed * (risk(design @ beta) - with_),
                exposed * (risk(bare @ beta) - without),
            ]
        )

    of = [(exposed * risk(part @ beta)).sum() / exposed.sum() for part in (design, bare)]
    theta = np.array([*beta, *of])
    slopes = []
    for at in range(len(theta)):
        step = np.zeros(len(theta))
        step[at] = 1e-5
        up, down = equations(theta + step).sum(0), equations(theta - step).sum(0)
        slopes.append((up - down) / 2e-5)
    bread = np.linalg.inv(np.array(slopes).T)
    scores = equations(theta)
    first, second = frame["first"].to_numpy(), frame["second"].to_numpy()
    with_, without = of
    observed = events[exposed > 0].sum() / exposed.sum()
    for name, middle in [
        ("standardised", meat(scores, first)),
        ("standardised_two_ways", two_way_meat(scores, first, second)),
    ]:
        covariance = (bread @ middle @ bread.T)[-2:, -2:]
        got = ours[name]
        means.close(f"{link} with", got["with"], with_)
        means.close(f"{link} with is observed", got["with"], observed)
        means.close(f"{link} without", got["without"], without)
        means.close(f"{link} ratio", got["ratio"][0], with_ / without)
        means.close(f"{link} difference", got["difference"][0], with_ - without, scale=with_)
        log = np.array([1 / with_, -1 / without])
        plain = np.array([1.0, -1.0])
        groups = len(set(first)) if name == "standardised" else len(set(second))
        quantile = stats.t.ppf(0.975, groups - 1)
        error = np.sqrt(log @ covariance @ log)
        errors.close(f"{link} {name} ratio", got["ratio"][1][2], error)
        errors.close(
            f"{link} {name} low", got["ratio"][1][0], with_ / without * np.exp(-quantile * error)
        )
        error = np.sqrt(plain @ covariance @ plain)
        errors.close(f"{link} {name} difference", got["difference"][1][2], error)
        errors.close(
            f"{link} {name} high",
            got["difference"][1][1],
            with_ - without + quantile * error,
            scale=with_,
        )
        error = np.sqrt(covariance[1, 1]) / without
        errors.close(f"{link} {name} without", got["without_interval"][2], error)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--estimate", required=True, help="the built example")
    program = Program(parser.parse_args().estimate)
    import estimators_of_time as time

    conditional_logit(program)
    models(program)
    time.trend(program)
    time.hazard(program)
    time.incidence(program)
    false_discovery_and_e_value(program)
    sys.exit(1 if Check.total_differences else 0)


def false_discovery_and_e_value(program):
    check = Check("false discovery", "statsmodels multipletests")
    p = np.random.default_rng(5).random(300) ** 3
    p[10] = p[20]
    ours = program("false-discovery", pd.DataFrame({"p": p}))
    vectors(check, "p", ours, multipletests(p, method="fdr_bh")[1])
    check.report()
    check = Check("E-value", "VanderWeele and Ding 2017", 3e-4)
    frame = pd.DataFrame({"ratio": [10.73], "low": [8.02], "high": [14.36]})
    vectors(check, "worked example", program("e-value", frame)[0], [20.95, 15.52])
    check.report()


if __name__ == "__main__":
    main()
