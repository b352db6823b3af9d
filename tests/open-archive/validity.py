"""Counts capture runs again from the table `moves`, and says how often "lost" and "traded" are right.

DuckDB (PyPI `duckdb`) gathers the captures into runs and pairs units off by counting values, from
schemas/definitions.md, section 7, and nothing but the columns that say what was played. Compared with
what hobble wrote: the net of every run, and in each run of each side how many units of each value were
lost, traded and sold. Then two shares:

- pieces called lost whose owner stands no worse than -1 six plies after the run (at the end of the
  game if that is sooner), compared with the position before it: at most 12 %;
- pieces called traded whose owner is 2 or more down then.

Prints a line for each: what | source | compared | differences, or what | source | pieces | share.
"""

import argparse
import pathlib
import sys

import tables

MOST_BACK = 12.0  # per cent
SOURCE = "DuckDB over moves"

# White moves at odd plies: every game starts from the usual position, which is checked.
RUNS = """
create table plies as
select game, ply::int as ply, captured, promotion, from_square as origin, to_square as target, captured_fate,
    captured_net, ply % 2 = 1 as white,
    case captured when 'pawn' then 1 when 'knight' then 3 when 'bishop' then 3 when 'rook' then 5
        when 'queen' then 9 else 0 end as value,
    case promotion when 'queen' then 8 when 'rook' then 4 when 'knight' then 2 when 'bishop' then 2
        else 0 end as risen,
    captured is not null or promotion is not null as material,
    gives_check or coalesce(lag(gives_check) over (partition by game order by ply), false) as forced
from moves;

create table sums as
select *,
    sum(case when white then value + risen else -value - risen end)
        over (partition by game order by ply) as balance,
    sum(case when material or forced then 0 else 1 end) over (partition by game order by ply) as free
from plies;

create table material as
with gaps as (
    select *, free - lag(free) over (partition by game order by ply) as gap from sums where material
)
select *, sum(case when gap <= 2 then 0 else 1 end) over (partition by game order by ply) as run
from gaps;

create table runs as
with ends as (
    select game, run, min(ply) as a, max(ply) as z,
        sum(case when white then value + risen else -value - risen end) as net
    from material group by game, run
), games as (
    select game, max(ply) as plies from sums group by game
)
select ends.*, ends.net + later.balance - last.balance as later
from ends join games using (game)
join sums as last on last.game = ends.game and last.ply = z
join sums as later on later.game = ends.game and later.ply = least(z + 6, plies);
"""

# One row for each run and owner: captured units by what they count in pairing off.
PAIRED = """
create table sides as
with worth as (
    select game, run, not white as owner_white, ply,
        case when born.born >= a then 1 else value end as value
    from material join runs using (game, run)
    left join born using (game, ply)
    where captured is not null
), counts as (
    select game, run, owner_white,
        count(*) filter (value = 9) as q, count(*) filter (value = 5) as r,
        count(*) filter (value = 3) as m, count(*) filter (value = 1) as p
    from worth group by all
), paired as (
    select coalesce(o.game, t.game) as game, coalesce(o.run, t.run) as run,
        coalesce(o.owner_white, not t.owner_white) as owner_white,
        coalesce(o.q, 0) as q, coalesce(o.r, 0) as r, coalesce(o.m, 0) as m, coalesce(o.p, 0) as p,
        coalesce(t.q, 0) as tq, coalesce(t.r, 0) as tr, coalesce(t.m, 0) as tm,
        coalesce(t.p, 0) as tp
    from counts o full join counts t
        on o.game = t.game and o.run = t.run and o.owner_white <> t.owner_white
), queens as (
    -- Of each value: paired with equals, paired with dearer ones, what is left of those.
    select *, least(q, tq) as q_equal, tq - least(q, tq) as queens from paired
), rooks as (
    select *, least(r, tr) as r_equal, tr - least(r, tr) as rooks,
        least(r - least(r, tr), queens) as r_dearer from queens
), minors as (
    select * replace (queens - r_dearer as queens), least(m, tm) as m_equal,
        tm - least(m, tm) as minors,
        least(m - least(m, tm), rooks + queens - r_dearer) as m_dearer from rooks
), pawns as (
    select *, least(p, tp) as p_equal,
        least(p - least(p, tp), minors + rooks + queens - m_dearer) as p_dearer from minors
)
select pawns.* exclude (queens, rooks, minors, tq, tr, tm, tp),
    case when owner_white then net else -net end as net,
    case when owner_white then later else -later end as later
from pawns join runs using (game, run);

create table fates as
with units as (
    select game, run, owner_white, net, later, 9 as value, q as n, q_equal as equal, 0 as dearer
        from sides union all
    select game, run, owner_white, net, later, 5, r, r_equal, r_dearer from sides union all
    select game, run, owner_white, net, later, 3, m, m_equal, m_dearer from sides union all
    select game, run, owner_white, net, later, 1, p, p_equal, p_dearer from sides
)
select *, case when net <= -2 then n - equal - dearer else 0 end as lost,
    case when net >= 2 then n - equal else 0 end as sold
from units where n > 0;
"""


def follow_promoted(con):
    """Fill `born`: for each capture of a promoted piece, the ply it was born by."""
    con.execute("create table born (game uinteger, ply int, born int)")
    con.execute("""
        create table alive as select game, ply as born, ply, target as square from plies
        where promotion is not null""")
    con.execute("""
        create table events as select game, ply, origin, target from plies
        where game in (select game from alive)""")
    while con.execute("select count(*) from alive").fetchone()[0]:
        con.execute("""
            create or replace table next as
            select alive.game, born, min(e.ply) as ply, arg_min(e.target, e.ply) as square,
                arg_min(e.origin = square, e.ply) as moved
            from alive join events e on e.game = alive.game and e.ply > alive.ply
                and (e.origin = square or e.target = square)
            group by alive.game, born""")
        con.execute("insert into born select game, ply, born from next where not moved")
        con.execute(
            "create or replace table alive as select game, born, ply, square from next where moved")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=pathlib.Path, required=True)
    arguments = parser.parse_args()
    con = tables.connect(arguments.data)
    (other,) = con.execute("select count(start_fen) from games").fetchone()
    if other:
        sys.exit(f"{other} games do not start from the usual position")
    con.execute(RUNS)
    follow_promoted(con)
    con.execute(PAIRED)
    bad = False

    compared, different = con.execute("""
        select count(*), count(*) filter (
            captured_net is null or captured_net <> case when white then -net else net end)
        from material join runs using (game, run) where captured is not null""").fetchone()
    print(f"net of the run of each capture | {SOURCE} | {compared:,} compared | "
          f"{different:,} differences")
    bad |= different > 0

    # A piece born in the run counts as a pawn in both.
    compared, different = con.execute("""
        with theirs as (
            select game, run, not white as owner_white,
                case when born.born >= a then 1 else value end as value, count(*) as n,
                count(*) filter (captured_fate = 'lost') as lost,
                count(*) filter (captured_fate = 'sold') as sold,
                count(*) filter (captured_fate = 'traded') as traded
            from material join runs using (game, run) left join born using (game, ply)
            where captured is not null group by all
        )
        select coalesce(sum(greatest(o.n, t.n)), 0), count(*) filter (
            o.n is distinct from t.n or o.lost is distinct from t.lost
            or o.sold is distinct from t.sold
            or o.n - o.lost - o.sold is distinct from t.traded)
        from fates o full join theirs t using (game, run, owner_white, value)""").fetchone()
    print(f"captured units lost, traded, sold in each run | {SOURCE} | {compared:,} compared | "
          f"{different:,} differences")
    bad |= different > 0

    lost, back, traded, down = con.execute("""
        select sum(lost), sum(lost) filter (later >= -1),
            sum(n - lost - sold), sum(n - lost - sold) filter (later <= -2)
        from fates where value > 1""").fetchone()
    share = 100 * back / lost
    print("pieces called lost whose owner stands no worse than -1 six plies after the run | "
          f"{SOURCE} | {lost:,} pieces | {share:.1f} %, at most {MOST_BACK:.0f} %")
    bad |= share > MOST_BACK
    print("pieces called traded whose owner is 2 or more down six plies after the run | "
          f"{SOURCE} | {traded:,} pieces | {100 * down / traded:.1f} %")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
