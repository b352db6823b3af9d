"""Counts behind an answer, in plain SQL over the Parquet files."""

import numpy as np


def cells(con, question, k, horizons, developed):
    """Counts of a question by horizon, group, stratum, fold and side.

    For each of `horizons` a dictionary from group (the kind) to arrays [stratum, fold] of held
    and free turns, outcomes and games over, from the cube of exposure. `None` is the group of
    all.
    """
    if question["group_by"] != ["kind"]:
        raise ValueError("this recount groups by kind alone")
    strata = ", ".join(f'"{name}"' for name in question["strata"])
    kinds = ", ".join(f"'{kind}'" for kind in question["kinds"])
    where = {"any": "true", "yes": "developed", "no": "not developed"}[developed]
    names = ["turns"]
    for within in horizons:
        names += [f"{question['outcome']}_{within}", f"over_{within}"]
    sums = ", ".join(
        f"sum(case when safe {side} {k} then {name} else 0 end)::bigint as {word}_{name}"
        for word, side in [("held", "<="), ("free", ">")]
        for name in names
    )
    found = con.execute(
        f"""
        select kind, dense_rank() over (order by {strata}) - 1 as stratum, fold, {sums}
        from exposure
        where {where} and kind in ({kinds})
        group by kind, fold, {strata}
        """
    ).fetchnumpy()
    place = (found["stratum"].astype(int), found["fold"].astype(int))
    number = place[0].max(initial=0) + 1
    result = {}
    for within in horizons:
        columns = [
            f"{side}_{name}"
            for side in ["held", "free"]
            for name in ["turns", f"{question['outcome']}_{within}", f"over_{within}"]
        ]
        groups = result[within] = {}
        for kind in [*np.unique(found["kind"]).tolist(), None]:
            rows = slice(None) if kind is None else found["kind"] == kind
            groups[kind] = np.zeros((len(columns), number, 64), dtype=np.int64)
            for counts, column in zip(groups[kind], columns):
                np.add.at(counts, (place[0][rows], place[1][rows]), found[column][rows])
    return result


# A spell at k holds one held turn of its piece at each of start_ply, start_ply + 2, … ;
# `first` and `last` number those at which the piece is, by the question, developed enough.
# A turn p is followed by the loss within N moves where fate_ply <= p + 2N; the game is over
# within N where the piece survived and start_ply + plies_left < p + 2N.
HELD_FROM_SPELLS = """
    with spans as (
        select kind, start_ply, turns as last, plies_left, fate, fate_ply,
               case when {any} or developed then 0
                    when first_move is null then turns
                    else least(turns, (first_move - start_ply + 1) // 2) end as first
        from held
        where k_low <= {k} and {k} <= k_high and kind in ({kinds})
    )
    select kind, sum(last - first)::bigint,
           {columns}
    from spans group by kind
"""


def first_moves(con):
    """The table `held`: every spell with the ply that first moved its piece, had it not moved
    before: the owner's first ply within the spell to leave the square, or to castle with the
    rook that stands there."""
    con.execute(
        """
        create table if not exists held as
        with waiting as (
            select source, game, piece, start_ply, any_value(kind) as kind,
                   any_value(square) as square, max(turns) as turns
            from spells where not developed group by source, game, piece, start_ply
        ),
        leaving as (
            select w.source, w.game, w.piece, w.start_ply, m.ply
            from waiting w join moves m
              on m.source = w.source and m.game = w.game and m."from" = w.square
            where not m.castling and m.ply > w.start_ply
              and m.ply <= w.start_ply + 2 * w.turns and (m.ply - w.start_ply) % 2 = 1
            union all
            select w.source, w.game, w.piece, w.start_ply, m.ply
            from waiting w join moves m on m.source = w.source and m.game = w.game
            where w.kind = 'rook' and m.castling and m.ply > w.start_ply
              and m.ply <= w.start_ply + 2 * w.turns and (m.ply - w.start_ply) % 2 = 1
              and m."to"[2] = w.square[2]
              and case m."to"[1] when 'g' then w.square[1] > m."from"[1]
                                 else w.square[1] < m."from"[1] end
        ),
        moved as (
            select source, game, piece, start_ply, min(ply) as first_move
            from leaving group by source, game, piece, start_ply
        )
        select s.kind, s.k_low, s.k_high, s.start_ply::int as start_ply,
               s.turns::int as turns, s.developed, s.fate, s.fate_ply::int as fate_ply,
               s.plies_left::int as plies_left, m.first_move::int as first_move
        from spells s left join moved m
          using (source, game, piece, start_ply)
        """
    )


def held_from_spells(con, question, k, horizons, developed):
    """Held turns, and lost and over within each of `horizons`, by kind, from spells and moves
    alone, without the cube."""
    first_moves(con)
    columns = []
    for within in horizons:
        # Turn j of the spell is lost within N from j >= (fate_ply - start_ply) / 2 - N on.
        lost = f"greatest(first, (fate_ply - start_ply + 1) // 2 - {within})"
        over = f"greatest(first, plies_left // 2 - {within} + 1)"
        columns.append(
            f"sum(case when fate = '{question['outcome']}' "
            f"then greatest(0, last - {lost}) else 0 end)::bigint"
        )
        columns.append(
            f"sum(case when fate = 'survived' "
            f"then greatest(0, last - {over}) else 0 end)::bigint"
        )
    kinds = ", ".join(f"'{kind}'" for kind in question["kinds"])
    sql = HELD_FROM_SPELLS.format(
        any="true" if developed == "any" else "false", k=k, kinds=kinds, columns=", ".join(columns)
    )
    return {row[0]: row[1:] for row in con.execute(sql).fetchall()}
