"""Restraint by rating, from the table `sides` alone: python restraint_by_rating.py DATA [WIDTH] > cells.csv

Each figure is a quotient of sums with a 95 % interval: the wider of the jackknife over folds of games and of two-way
clusters of games and players (Cameron, Gelbach, Miller 2011, JBES 29(2), 238-249)."""
import sys
import duckdb
import numpy as np
from scipy import stats

KINDS, ENDS = ["knight", "bishop", "rook", "queen"], ["lost", "traded", "sold", "freed", "game_over"]
NAMES = (("held_{}_2", KINDS), ("developed_turns_{}", KINDS), ("end_{}_2", ENDS))
HELD, MOVED, SPELLS = (" + ".join(name.format(word) for word in words) for name, words in NAMES)
MEASURES = {  # Events, trials, whether a share.
    "spells_per_game": (SPELLS, "1", False), "restraints_per_game": ("restraints_2", "1", False),
    "restraints_lost": ("restraints_lost_2", "restraints_2", True), "held_share": (HELD, MOVED, True),
    "squares_taken_per_move": ("taken", "turns", False), "loss_risk": ("held_lost_2", HELD, True),
    "release_rate": ("end_freed_2", "spell_turns_2", True), "chances_taken": ("chances_taken", "chances", True),
}
# Players without a name are somebody else in each game, and have numbers below 0.
BAND = "case when rating is null then band else (rating // {0} * {0}) || '-' || (rating // {0} * {0} + {0} - 1) end"
ROWS = """select {band} as band, fold::int as fold, dense_rank() over (order by source, game) as game, ({})::double as e, ({})::double as t,
    case when player_key is null then -row_number() over () else dense_rank() over (order by player_key) end as player
    from read_parquet('{}/sides/**/*.parquet', hive_partitioning = true) where ({}) > 0"""


def two_way(e, t, game, player, share, jackknife=True):
    """Standard error on the scale, degrees of freedom, players, largest share of one."""
    ratio, (who, at) = e.sum() / t.sum(), np.unique(player, return_inverse=True)
    trials, u = np.bincount(at, t), np.bincount(at, e - ratio * t)
    variance = lambda u: np.divide(len(u), len(u) - 1) * (u**2).sum()  # noqa: E731
    left_out = (len(u) - 1) / len(u) * ((u / np.where(who > 0, 1 - trials / t.sum(), 1)) ** 2).sum()
    players = left_out if jackknife else variance(u)
    games, both = (variance(np.bincount(np.unique(of, return_inverse=True)[1], e - ratio * t)) for of in (game, game * 2**32 + player))
    se = np.sqrt(games + players - both) / (t.sum() * ratio * (1 - ratio) if share else e.sum())
    df = max(int(t.sum() ** 2 / (trials**2).sum()) - 1, 1)
    return se if np.isfinite(se) else np.nan, df, (who > 0).sum(), trials[who > 0].max(initial=0) / t.sum()


def by_folds(e, t, fold, scale):
    """Standard error of the jackknife on the scale, degrees of freedom."""
    events, trials = np.bincount(fold, e, 64), np.bincount(fold, t, 64)
    without = scale(((e.sum() - events) / (t.sum() - trials))[trials > 0])
    return np.sqrt((len(without) - 1) / len(without) * ((without - without.mean()) ** 2).sum()), len(without) - 1


def main(data, width=200):
    print("measure,band,estimate,low,high,n,players,largest_share")
    for measure, (events, trials, share) in MEASURES.items():
        of = duckdb.sql(ROWS.format(events, trials, data, trials, band=BAND.format(width))).fetchnumpy()
        scale, back = (lambda x: np.log(x / (1 - x)), lambda x: 1 / (1 + np.exp(-x))) if share else (np.log, np.exp)
        for band in sorted(set(of["band"])):
            e, t, fold, game, player = (of[name][of["band"] == band] for name in ("e", "t", "fold", "game", "player"))
            with np.errstate(all="ignore"):
                errors = [by_folds(e, t, fold, scale), two_way(e, t, game, player, share)]
                wide = np.fmax.reduce([stats.t.ppf(0.975, error[1]) * error[0] for error in errors])
                bounds = [e.sum() / t.sum(), *(back(scale(e.sum() / t.sum()) + way * wide) for way in (-1, 1))]
            print(measure, band, *map(float, bounds), int(t.sum()), errors[1][2], float(errors[1][3]), sep=",")


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:]))
