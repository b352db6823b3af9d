"""Survival and incidence curves of the library against lifelines, statsmodels and numpy.

Observations are the spells of a season at one k: time is the number of plies from start to
end, the cause its end. The end of the game counts once as a competing cause and once as
censoring. The library is asked through the example `curves` of pipeline/questions.

- Kaplan and Meier (JASA 53 (1958), 457-481) with Greenwood's variance (1926) and the interval
  on the log(-log) scale (J. D. Kalbfleisch, R. L. Prentice, "The Statistical Analysis of
  Failure Time Data", Wiley 1980): lifelines `KaplanMeierFitter` (intervals), statsmodels
  `SurvfuncRight` (standard errors).
- Aalen and Johansen (Scandinavian Journal of Statistics 5 (1978), 141-150) with the delta
  method's variance (E. Marubini, M. G. Valsecchi, "Analysing Survival Data from Clinical
  Trials and Observational Studies", Wiley 1995, chapter 10): lifelines `AalenJohansenFitter`
  where no two times are equal, since it moves ties apart by chance, and statsmodels
  `CumIncidenceRight` on the plies as they are, ties and all.

Publications cited from memory. Prints a line for each check.
"""

import argparse
import json
import subprocess
import sys
import warnings

import numpy as np
from lifelines import AalenJohansenFitter, KaplanMeierFitter
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight

import tables
from report import Check

ENDS = ["lost", "traded", "sold", "freed", "game over"]
KINDS = ["knight", "bishop", "rook", "queen"]
# Spells compared with lifelines where times are made distinct: its loop takes a while.
DISTINCT = 1_000


def library(program, times, causes, names):
    """The curves of the library."""
    lines = "".join(f"{time},{cause}\n" for time, cause in zip(times, causes))
    done = subprocess.run([program, *names], input=lines, stdout=subprocess.PIPE, check=True, text=True)
    return json.loads(done.stdout)


class Checks:
    def __init__(self, label):
        def check(what, source):
            return Check(f"{what}, {label}", source)

        self.km = check("Kaplan-Meier curve and interval", "lifelines KaplanMeierFitter")
        self.greenwood = check("Kaplan-Meier curve and Greenwood's error", "statsmodels SurvfuncRight")
        self.aj = check("Aalen-Johansen curve, variance, interval, no ties", "lifelines AalenJohansenFitter")
        self.ties = check("Aalen-Johansen curve and error, ties", "statsmodels CumIncidenceRight")
        self.sums = check("incidences and survival add up to one", "arithmetic")

    def all(self):
        return list(vars(self).values())

    def survival(self, where, ours, times, status):
        """Kaplan-Meier, ties and all."""
        fitter = KaplanMeierFitter().fit(times, status > 0)
        survival = fitter.survival_function_.iloc[:, 0]
        interval = fitter.confidence_interval_
        at_risk = fitter.event_table["at_risk"]
        other = SurvfuncRight(times, (status > 0).astype(int))
        errors = dict(zip(other.surv_times, zip(other.surv_prob, other.surv_prob_se)))
        event_times = sorted(set(times[status > 0].tolist()))
        self.km.equal(f"{where} times", [step["time"] for step in ours], event_times)
        for step in ours:
            time = step["time"]
            place = f"{where} t={time}"
            self.km.equal(f"{place} at risk", step["at_risk"], int(at_risk[time]))
            self.km.close(f"{place} survival", step["survival"], survival[time])
            share, error = errors[time]
            self.greenwood.close(f"{place} survival", step["survival"], share)
            if step["survival"] == 0:
                continue  # Nothing is left: no error, no interval.
            self.greenwood.close(f"{place} error", step["variance"] ** 0.5, error)
            low, high = step["interval"]
            self.km.close(f"{place} low", low, interval.loc[time].iloc[0])
            self.km.close(f"{place} high", high, interval.loc[time].iloc[1])

    def incidence_with_ties(self, where, ours, times, status, names):
        """Aalen-Johansen, ties and all."""
        other = CumIncidenceRight(times, status)
        place_of = {time: place for place, time in enumerate(other.times)}
        event_times = sorted(set(times[status > 0].tolist()))
        self.ties.equal(f"{where} times", [step["time"] for step in ours], event_times)
        last = ours[-1]["time"]
        for step in ours:
            place = place_of[step["time"]]
            total = step["survival"] + sum(cause["incidence"] for cause in step["causes"])
            self.sums.close(f"{where} t={step['time']}", total, 1.0)
            for number, (name, cause) in enumerate(zip(names, step["causes"])):
                what = f"{where} t={step['time']} {name}"
                self.ties.close(f"{what} incidence", cause["incidence"], other.cinc[number][place])
                # Where nothing is left at the last time its formula divides by zero.
                error = other.cinc_se[number][place]
                if step["time"] == last and step["survival"] == 0:
                    continue
                # The variance is a sum of terms of the size of incidence² / at risk that
                # cancel; its rounding is theirs.
                self.ties.close(f"{what} error", cause["variance"] ** 0.5, error)

    def incidence_without_ties(self, where, ours, times, status, names):
        """Aalen-Johansen where all times differ."""
        steps = {step["time"]: step for step in ours}
        for number, name in enumerate(names, start=1):
            fitter = AalenJohansenFitter().fit(times, status, event_of_interest=number)
            curve = fitter.cumulative_density_.iloc[:, 0].to_dict()
            # Its table has a row more than times: the start, at time 0.
            variance = fitter.variance_.to_dict()
            interval = fitter.confidence_interval_
            lows, highs = (interval.iloc[:, place].to_dict() for place in (1, 0))
            for time, step in steps.items():
                cause = step["causes"][number - 1]
                what = f"{where} t={time} {name}"
                self.aj.close(f"{what} incidence", cause["incidence"], curve[time])
                if cause["incidence"] == 0 or step["survival"] == 0:
                    continue
                self.aj.close(f"{what} variance", cause["variance"], variance[time])
                bounds = sorted([lows[time], highs[time]])
                for end, a, b in zip(["low", "high"], cause["interval"], bounds):
                    self.aj.close(f"{what} {end}", a, b)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--curves", required=True, help="the example program")
    parser.add_argument("--data", required=True)
    parser.add_argument("--label", required=True)
    arguments = parser.parse_args()
    warnings.filterwarnings("ignore", category=RuntimeWarning)
    con = tables.connect(arguments.data)
    checks = Checks(arguments.label)
    for k in [0, 2, 4]:
        for kind in [*KINDS, None]:
            rows = con.execute(
                f"""select (end_ply - start_ply)::int, "end" from spells
                    where k_low <= {k} and {k} <= k_high
                      and {f"kind = '{kind}'" if kind else "true"}
                    order by source, game, piece, start_ply"""
            ).fetchall()
            for names in [ENDS, ENDS[:-1]]:
                competing = "competing" if "game over" in names else "censoring"
                where = f"k={k} {kind or 'all'}, game over {competing}"
                times = np.array([row[0] for row in rows])
                causes = [row[1] for row in rows]
                number = {name: place for place, name in enumerate(names, start=1)}
                status = np.array([number.get(cause, 0) for cause in causes])
                got = library(arguments.curves, times, causes, names)
                checks.survival(where, got["kaplan_meier"], times, status)
                checks.incidence_with_ties(where, got["aalen_johansen"], times, status, names)
                if kind is None and k != 2:
                    continue
                # Distinct times: the rank of each spell, ends before censorings of a ply.
                chosen = slice(0, DISTINCT)
                order = np.lexsort((status[chosen] == 0, times[chosen]))
                ranks = np.empty(len(order), dtype=int)
                ranks[order] = np.arange(1, len(order) + 1)
                got = library(arguments.curves, ranks, causes[chosen], names)
                checks.incidence_without_ties(
                    where, got["aalen_johansen"], ranks, status[chosen], names
                )
    sys.exit(sum(check.report() for check in checks.all()) > 0)


if __name__ == "__main__":
    main()
