"""Counts of each side of a game by kind and phase, in SQL over the tables."""

SPELLS = """
create temp table per_side_spells as
select source, game, color, kind, phase, count(*) as spells, sum(turns)::bigint as turns,
       count(*) filter (ended = 'freed') as freed, count(*) filter (ended = 'lost') as lost,
       count(*) filter (restrained) as restraints,
       count(*) filter (restrained and fate = 'lost' and fate_ply::int - start_ply - 2 <= 2 * {within}) as restrained_lost
from spells
where k_low <= {k} and {k} <= k_high and {developed}
group by all
"""

# The phase by the value of the pieces before the ply (definitions, section 9).
MOVES = """
create temp table per_side_moves as
with values_of(kind, worth) as (values ('knight', 3), ('bishop', 3), ('rook', 5), ('queen', 9)),
starts as (
    select source, game, coalesce(split_part(start_fen, ' ', 2) = 'b', false) as black_first,
           case when start_fen is null then 62 else list_sum(list_transform(
               string_split(lower(split_part(start_fen, ' ', 1)), ''),
               lambda c: case c when 'n' then 3 when 'b' then 3 when 'r' then 5 when 'q' then 9 else 0 end))
           end as worth
    from games
),
plies as (
    select m.source, m.game, m.ply, m.mover, m.taken, s.black_first,
           s.worth - coalesce(sum(coalesce(c.worth, 0) - coalesce(p.worth, 0)) over (
               partition by m.source, m.game order by m.ply
               rows between unbounded preceding and 1 preceding), 0) as worth
    from moves m join starts s using (source, game)
    left join values_of c on c.kind = m.captured
    left join values_of p on p.kind = m.promotion
)
select source, game, case when (ply % 2 = 1) = not black_first then 'white' else 'black' end as color, mover as kind,
       case when ply - 1 < 20 and worth >= 56 then 'opening' when worth <= 26 then 'endgame' else 'middlegame' end as phase,
       count(*) as moves, sum(taken)::bigint as taken
from plies
group by all
"""

# Thousandths of a chance that a random quiet move takes, each rounded.
CHANCES = """
create temp table per_side_chances as
select source, game, color, kind, phase, count(*) as chances, count(*) * {sample} as turns_with_chance,
       count(*) filter (restrains) as taken, sum(floor(1000 * restraining::int / quiet::int + 0.5))::bigint as at_random,
       count(*) * 1000 as parts
from decisions
group by all
"""

# Where games or sides are chosen: the turns in the sample.
TURNS = """
create temp table per_side_turns as
select source, game, color, kind, phase, count(*) as turns, count(*) filter (safe <= {k}) as held,
       count(*) filter (safe <= {k} and fate = 'lost' and fate_ply::int - ply::int <= 2 * {within}) as lost
from turns where sampled
group by all
"""


def count(con, k, within, developed, sample):
    """Puts the counts beside the views of a connection."""
    moved = {"yes": "developed", "no": "not developed", "any": "true"}[developed]
    for sql in (SPELLS, MOVES, CHANCES, TURNS):
        con.execute(sql.format(k=k, within=within, developed=moved, sample=sample))
