"""Standardisation and the delete-a-fold jackknife, a second time in numpy and scipy.

Written from the words that every answer carries under `methods`:

- Standardisation to the restricted pieces: Miettinen 1972.
- Delete-a-group jackknife: Tukey 1958, Efron 1982.

The publications in full in pipeline/statistics/src/sources.rs. Quantiles of t are scipy's.
"""

import functools

import numpy as np
from scipy import stats

SCALES = {
    "plain": (lambda x: x, lambda x: x),
    "log": (np.log, np.exp),
    "logit": (lambda x: np.log(x / (1 - x)), lambda x: 1 / (1 + np.exp(-x))),
}


def figures(held, held_outcomes, free, free_outcomes):
    """All figures of counts by stratum (last axis); leading axes are carried along."""
    with np.errstate(divide="ignore", invalid="ignore"):
        compared = (held > 0) & (free > 0)
        free_rates = np.where(compared, free_outcomes / np.where(free > 0, free, 1), 0.0)
        standard_held = np.where(compared, held, 0).sum(-1)
        rate = np.where(compared, held_outcomes, 0).sum(-1) / standard_held
        standard = (np.where(compared, held, 0) * free_rates).sum(-1) / standard_held
        raw_held = held_outcomes.sum(-1) / held.sum(-1)
        raw_free = free_outcomes.sum(-1) / free.sum(-1)
        return {
            "held": raw_held,
            "free": raw_free,
            "raw ratio": raw_held / raw_free,
            "raw difference": raw_held - raw_free,
            "standardised held rate": rate,
            "standardised free rate": standard,
            "standardised ratio": rate / standard,
            "standardised difference": rate - standard,
        }


SCALE = {
    "held": "logit",
    "free": "logit",
    "raw ratio": "log",
    "raw difference": "plain",
    "standardised held rate": "logit",
    "standardised free rate": "logit",
    "standardised ratio": "log",
    "standardised difference": "plain",
}


def finite(value):
    """The figure, or `None` where there is none."""
    return float(value) if np.isfinite(value) else None


class Group:
    """One group's counts, arrays [stratum, fold]: of either side an array of these, which holds
    rows, the turns they stand for, those with the outcome, those whose game was over, and the
    rows with the outcome. Free pieces of a stratum with fewer than `free_rows` rows of them are
    put in a stratum of their own, the last."""

    def __init__(self, sides, minimum, level, free_rows):
        held, free = (np.pad(sides[side], ((0, 0), (0, 1), (0, 0))) for side in ["restricted", "free"])
        thin = free[0].sum(1) < free_rows
        free[:, -1] = free[:, thin].sum(1)
        thin[-1] = False
        free[:, thin] = 0
        self.held_rows, self.held, self.held_outcomes, self.held_over, self.held_met = held
        self.free_rows, self.free, self.free_outcomes, self.free_over, self.free_met = free
        self.minimum = minimum
        self.level = level
        main = [self.held, self.held_outcomes, self.free, self.free_outcomes]
        sums = [part.sum(1) for part in main]
        self.whole = figures(*sums)
        # [fold, stratum]: each fold left out in turn.
        self.without = figures(*[total[None, :] - part.T for part, total in zip(main, sums)])
        held, free = sums[0], sums[2]
        self.compared = (held > 0) & (free > 0)
        self.left_out = (held > 0) & (free == 0)

    def spread(self, side, compared_only=False):
        """Turns of a side, folds that have any, and folds that have an outcome."""
        keep = self.compared if compared_only else slice(None)
        turns = getattr(self, side)[keep].sum(0)
        outcomes = getattr(self, f"{side}_outcomes")[keep].sum(0)
        return int(turns.sum()), int((turns > 0).sum()), int((outcomes > 0).sum())

    def enough(self, side, compared_only=False):
        """Rows and folds enough for an interval; and outcomes enough for a jackknife."""
        _, folds, outcome_folds = self.spread(side, compared_only)
        keep = self.compared if compared_only else slice(None)
        of_turns = (
            getattr(self, f"{side}_rows")[keep].sum() >= self.minimum["minimum_turns"]
            and folds >= self.minimum["minimum_folds"]
        )
        return of_turns, of_turns and outcome_folds >= self.minimum["minimum_outcome_folds"]

    @functools.cache
    def interval(self, name):
        """(low, high, standard error, degrees of freedom), or `None` where there is none."""
        held_folds, free_folds = self.held.sum(0) > 0, self.free.sum(0) > 0
        if name == "held" or name == "free":
            with_turns = held_folds if name == "held" else free_folds
            degrees = self.spread(name)[1] - 1
            if not self.enough(name)[1]:
                return None
        else:
            with_turns = held_folds | free_folds
            only = not name.startswith("raw")
            if not (self.enough("held", only)[1] and self.enough("free", only)[1]):
                return None
            degrees = self.spread("held", only)[1] - 1
            if name != "standardised held rate":
                degrees = min(degrees, self.spread("free", only)[1] - 1)
        forward, back = SCALES[SCALE[name]]
        with np.errstate(divide="ignore", invalid="ignore"):
            replicates = forward(self.without[name][with_turns])
            middle = forward(self.whole[name])
        if not np.isfinite(replicates).all() or not np.isfinite(middle) or degrees < 1:
            return None
        groups = len(replicates)
        error = np.sqrt((groups - 1) / groups * ((replicates - replicates.mean()) ** 2).sum())
        # Equal replicates: what is left of a spread is rounding.
        if error <= 1e-12 * max(1.0, np.abs(replicates).max()):
            return None
        half = stats.t.ppf(0.5 + self.level / 2, degrees) * error
        return back(middle - half), back(middle + half), error, degrees

    def over(self, all_groups):
        """The group's standardised ratio over that of all groups: value, bounds and p; or `None`."""
        name = "standardised ratio"
        own, whole = self.interval(name), all_groups.interval(name)
        if own is None or whole is None:
            return None
        present = (all_groups.held.sum(0) > 0) | (all_groups.free.sum(0) > 0)
        apart = np.log(self.whole[name]) - np.log(all_groups.whole[name])
        each = (np.log(self.without[name]) - np.log(all_groups.without[name]))[present]
        error = np.sqrt((len(each) - 1) / len(each) * ((each - each.mean()) ** 2).sum())
        if not np.isfinite(error) or error <= 1e-12:
            return None
        degrees = own[3]
        half = stats.t.ppf(0.5 + self.level / 2, degrees) * error
        bounds = [float(np.exp(apart + way * half)) for way in (-1, 1)]
        return float(np.exp(apart)), *bounds, float(2 * stats.t.sf(abs(apart) / error, degrees))
