"""The estimators beside R's package survival (Debian r-cran-survival), on made-up data.

- Conditional logistic regression: clogit, method "exact"; clustered one way and two ways from its
  robust variances, in sets of one case (clogit takes no clusters with several).
- Its published example: infertility after abortion (Trichopoulos and others, British Journal of
  Obstetrics and Gynaecology 83 (1976), 645-650; the table `infert` of R, the example of ?clogit).
- Hazard by turn with a state that comes and goes: coxph over intervals from turn to turn, ties
  "breslow", `cluster`.
- Incidence with competing ends: survfit of several states (Aalen and Johansen).

R sums squared scores of clusters; the program multiplies by G / (G - 1). Without R nothing is
compared, and a line says so.
"""

import argparse
import io
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd

from estimators import OPTIMISED, Program, matched_sets, matrices, vectors
from estimators_of_time import histories
from report import Check

SCRIPT = Path(__file__).with_name("survival.R")


def installed():
    """Whether R and its package are there."""
    if shutil.which("Rscript") is None:
        return False
    asked = ["Rscript", "-e", "quit(status = !requireNamespace('survival', quietly = TRUE))"]
    return subprocess.run(asked, capture_output=True).returncode == 0


def ask(what, frame=None):
    """What R prints."""
    text = "" if frame is None else frame.to_csv(index=False)
    done = subprocess.run(["Rscript", "--vanilla", SCRIPT, what], input=text, capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"R, {what}: {done.stderr}")
    return done.stdout


def survival(what, frame):
    """The figures that R gives, by name."""
    figures = {}
    for line in ask(what, frame).splitlines():
        name, figure = line.split()
        figures.setdefault(name, []).append(float(figure))
    return {name: np.array(values) for name, values in figures.items()}


def square(values):
    return values.reshape(int(len(values) ** 0.5), -1)


def conditional_logit(program):
    check = Check("conditional logit: coefficients, likelihood, covariance", "R survival clogit", OPTIMISED)
    for seed, most in [(1, 1), (2, 3), (3, 6)]:
        frame = matched_sets(seed, most)
        ours, theirs = program("conditional-logit", frame)["one_way"], survival("conditional-logit", frame)
        where = f"up to {most} cases"
        vectors(check, where, ours["coefficients"], theirs["coefficient"])
        check.close(f"{where} likelihood", ours["log_likelihood"], float(theirs["likelihood"][0]))
        matrices(check, where, ours["covariance"], square(theirs["covariance"]))
    check.report()


def clusters(program):
    check = Check("conditional logit: covariance by clusters, one and two ways", "R survival clogit", OPTIMISED)
    frame = matched_sets(1, 1)
    ours, theirs = program("conditional-logit", frame), survival("conditional-logit-clusters", frame)
    # Clusters of the sets that count: a set without a case has no score.
    telling = frame[frame.groupby("set")["case"].transform("sum") > 0]
    frame = telling.assign(both=telling["first"] * 1_000 + telling["second"])
    robust = {}
    for by in ["first", "second", "both"]:
        groups = frame[by].nunique()
        robust[by] = groups / (groups - 1) * square(theirs[f"covariance-{by}"])
        vectors(check, by, ours["one_way"]["coefficients"], theirs[f"coefficient-{by}"])
    matrices(check, "one way", ours["one_way"]["clustered"], robust["first"])
    two = robust["first"] + robust["second"] - robust["both"]
    matrices(check, "two ways", ours["two_ways"]["clustered"], two)
    check.report()


def infertility(program):
    check = Check("conditional logit: infertility after abortion", "R datasets infert, ?clogit", OPTIMISED)
    rows = pd.read_csv(io.StringIO(ask("infert")))
    frame = pd.DataFrame(
        {
            "set": rows["stratum"],
            "first": rows["stratum"],
            "second": rows["stratum"],
            "case": rows["case"],
            "a": rows["spontaneous"],
            "b": rows["induced"],
        }
    ).sort_values("set")
    ours, theirs = program("conditional-logit", frame)["one_way"], survival("conditional-logit", frame)
    vectors(check, "coefficient", ours["coefficients"], theirs["coefficient"])
    matrices(check, "covariance", ours["covariance"], square(theirs["covariance"]))
    check.report()


def hazard(program):
    check = Check("hazard ratio, counting process: coefficient, errors", "R survival coxph", OPTIMISED)
    frame = histories(np.random.default_rng(31), 600, 8, 0.05).assign(at_risk=1)
    ours = program("hazard", frame[["turn", "state", "cluster", "at_risk", "event"]])["ratio"]
    theirs = survival("hazard", frame)
    groups = frame["cluster"].nunique()
    check.close("log ratio", ours["log"], float(theirs["coefficient"][0]))
    check.close("error", ours["model_se"], float(theirs["error"][0]))
    check.close("clustered", ours["se"], float(theirs["clustered"][0] * np.sqrt(groups / (groups - 1))))
    check.report()


def incidence(program):
    check = Check("incidence with competing ends", "R survival survfit", 1e-9)
    frame = histories(np.random.default_rng(42), 900, 10, 0.06).assign(at_risk=1)
    ours = program("incidence", frame[["turn", "cluster", "at_risk", "event", "other"]])
    theirs = survival("incidence", frame)
    for at, (_, free, of_cause) in enumerate(ours):
        check.close(f"free at {at}", free, float(theirs["free"][at]))
        for number, cause in enumerate(["event", "other"]):
            check.close(f"{cause} at {at}", of_cause[number][0], float(theirs[cause][at]))
    check.report()


CHECKS = [conditional_logit, clusters, infertility, hazard, incidence]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--estimate", required=True, help="the built example")
    program = Program(parser.parse_args().estimate)
    if not installed():
        print("skipped | estimators beside R's survival | R not installed")
        return
    for check in CHECKS:
        check(program)
    sys.exit(1 if Check.total_differences else 0)


if __name__ == "__main__":
    main()
