"""Counts behind an answer, in plain SQL over the Parquet files."""

import numpy as np

# Fewer rows of free pieces in a stratum are comparable with nothing.
FREE_ROWS = 5

SIDES = ["restricted", "free"]


def key(name, k):
    """SQL of a key that turns are grouped or matched by, from the words of the question's schema."""
    return {
        "attacked": "attackers > 0",
        "defended": "defenders > 0",
        "move": "least(ply // 20, 7)",
        "balance": "case when balance <= -2 then -1 when balance >= 2 then 1 else 0 end",
        "squares_before": f"""case when safe_before_last is null then -1 when safe_before_last <= {k} then 0
            when safe_before_last <= {k} + 2 then 1 when safe_before_last <= {k} + 4 then 2 else 3 end""",
        "others_held": "least(others_held, 3)",
    }.get(name, f'"{name}"')


def sides(question, k):
    """SQL that says whether a row is a restricted piece, and whether it is a free one."""
    if question.get("restrained") == "yes":
        restricted = f"safe <= {k} and restrained_{k} = 1"
        free = f"safe > {k} and safe_last > {k} and not attacked_last"
    else:
        restricted = f"safe <= {k}"
        free = f"safe > {k}"
    return f"coalesce({restricted}, false)", f"coalesce({free}, false)"


def cells(con, question, k, horizons, sample):
    """Counts of a question by horizon, group, stratum, fold and side.

    For each of `horizons` a dictionary from group (the kind) to an array [what, stratum, fold]: for
    restricted and for free pieces the rows, the turns they stand for, those with the outcome, those
    whose game was over; then the rows with the outcome of either. `None` is the group of all. A row
    of a landmark stands for one turn, any other for `sample`.
    """
    if question["group_by"] != ["kind"]:
        raise ValueError("this recount groups by kind alone")
    strata = ", ".join(key(name, k) for name in question["strata"])
    kinds = ", ".join(f"'{kind}'" for kind in question["kinds"])
    restricted, free = sides(question, k)
    weight = f"case when landmark then 1 else {sample} end"
    sums = ["count(*) as rows", f"sum({weight})::bigint as turns"]
    for within in horizons:
        met = f"fate = '{question['outcome']}' and fate_ply::int - ply <= 2 * {within}"
        over = f"fate = 'survived' and plies_left < 2 * {within}"
        sums += [
            f"coalesce(sum({weight}) filter ({met}), 0)::bigint as met_{within}",
            f"coalesce(sum({weight}) filter ({over}), 0)::bigint as over_{within}",
            f"count(*) filter ({met}) as met_rows_{within}",
        ]
    found = con.execute(
        f"""
        select kind, dense_rank() over (order by {", ".join(f"s{n}" for n in range(len(question["strata"])))}) - 1
               as stratum, fold, side, * exclude (kind, fold, side)
        from (select kind, {", ".join(f"{key(name, k)} as s{n}" for n, name in enumerate(question["strata"]))},
                     fold, {restricted} as side, {", ".join(sums)}
              from turns
              where kind in ({kinds}) and ({restricted} or {free})
              group by all)
        """
    ).fetchnumpy()
    place = (found["stratum"].astype(int), found["fold"].astype(int))
    number = place[0].max(initial=0) + 1
    result = {}
    for within in horizons:
        columns = ["rows", "turns", f"met_{within}", f"over_{within}", f"met_rows_{within}"]
        groups = result[within] = {}
        for kind in [*np.unique(found["kind"]).tolist(), None]:
            groups[kind] = {}
            for side in SIDES:
                chosen = found["side"].astype(bool) == (side == "restricted")
                if kind is not None:
                    chosen &= found["kind"] == kind
                counts = np.zeros((len(columns), number, 64), dtype=np.int64)
                for count, column in zip(counts, columns):
                    np.add.at(count, (place[0][chosen], place[1][chosen]), found[column][chosen])
                groups[kind][side] = counts
    return result
