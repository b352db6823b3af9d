"""What is counted of each side for a player's report, by DuckDB from the tables. Names are folded as the
definitions say (player_names.py)."""

from player_names import words

# Counted figure: (what is counted, of what), as conditions on a spell of the player's side, or
# of the opponent's for the last two.
DEV = "developed"
CAUSED = f"{DEV} and cause <> 'undeveloped'"
BLOCKED = f"{DEV} and cause = 'blocked'"
LOST = "fate = 'lost' and fate_ply <= start_ply + 2 * {within}"
OWN = {
    "held": (DEV, None),
    "held_knights": (f"{DEV} and kind = 'knight'", None),
    "held_bishops": (f"{DEV} and kind = 'bishop'", None),
    "held_rooks": (f"{DEV} and kind = 'rook'", None),
    "held_queens": (f"{DEV} and kind = 'queen'", None),
    "held_undeveloped": ("not developed", None),
    "by_own_moves": (f"{DEV} and cause_by = 'own'", CAUSED),
    "blocked": (BLOCKED, CAUSED),
    "entered": (f"{DEV} and cause = 'entered'", CAUSED),
    "pinned_by_own": (f"{DEV} and cause = 'pinned' and cause_by = 'own'", CAUSED),
    "taken": (f"{DEV} and cause = 'taken'", CAUSED),
    "pinned": (f"{DEV} and cause = 'pinned' and cause_by = 'opponent'", CAUSED),
    **{
        f"blocked_by_{kind}": (f"{BLOCKED} and cause_kind = '{kind}'", BLOCKED)
        for kind in ["pawn", "knight", "bishop", "rook", "queen", "king"]
    },
    "long": (f"{DEV} and turns >= {{long}}", DEV),
    "ended_freed": (f"{DEV} and ended = 'freed'", DEV),
    "ended_freed_by_own": (f"{DEV} and ended = 'freed' and end_by = 'own'", DEV),
    "ended_lost": (f"{DEV} and ended = 'lost'", DEV),
    "ended_traded": (f"{DEV} and ended = 'traded'", DEV),
    "ended_sold": (f"{DEV} and ended = 'sold'", DEV),
    "ended_game_over": (f"{DEV} and ended = 'game over'", DEV),
    "lost_within": (f"{DEV} and {LOST}", DEV),
}
TOOK = f"{DEV} and cause = 'taken'"
RESTRAINED_LOST = "restrained and fate = 'lost' and fate_ply::int - start_ply - 2 <= 2 * {within}"
OWN |= {"restrained": ("restrained", None), "restrained_lost": (RESTRAINED_LOST, "restrained")}
OTHERS = {
    "opponent_held": (TOOK, None),
    "opponent_won": (f"{TOOK} and {LOST}", TOOK),
    "opponent_restrained": ("restrained", None),
    "opponent_restrained_lost": (RESTRAINED_LOST, "restrained"),
}
OWN |= {f"restrained_{kind}s": (f"restrained and kind = '{kind}'", None)
        for kind in ["knight", "bishop", "rook", "queen"]}
OWN |= {f"restrained_{phase}": (f"restrained and phase = '{phase}'", None)
        for phase in ["opening", "middlegame", "endgame"]}
OWN["restrained_worse"] = ("restrained and eval_5 <= -1", "restrained and eval_5 is not null")


# Of chances to restrain: those taken, of those there were, of the side on move.
CHANCES = {
    "chances_taken": ("mine", "true"),
    **{f"chances_taken_{kind}s": ("mine", f"kind = '{kind}'") for kind in ["knight", "bishop", "rook", "queen"]},
    **{f"chances_taken_{phase}": ("mine", f"phase = '{phase}'") for phase in ["opening", "middlegame", "endgame"]},
    "chances_taken_hurried": ("mine", "clock < 60"),
    "chances_taken_unhurried": ("mine", "clock >= 60"),
    "chances_taken_against": ("not mine", "true"),
    **{f"chances_taken_against_{kind}s": ("not mine", f"kind = '{kind}'")
       for kind in ["knight", "bishop", "rook", "queen"]},
}
# The same of chances that were not taken, and of turns of pieces by the time left.
MISSED = ("not restrains and eval_5 <= -1", "not restrains and eval_5 is not null")
# Time used at turns with a restrained piece and without one, in milliseconds.
SECONDS = {"seconds_restrained": "restrained > 0", "seconds_other": "restrained = 0"}
TURNS = {"restrained_hurried": "clock < 60", "restrained_unhurried": "clock >= 60"}


def key(name):
    """The key of a player (definitions, section 9)."""
    return " ".join(sorted(words(name)))


def choose(con, answer):
    """The table `chosen`: the sides of the player and of those beside."""
    keys = {key(name) for name in [answer["player"]["name"], *answer["player"]["aliases"]]}
    con.create_function("is_player", lambda name: key(name) in keys, ["VARCHAR"], "BOOLEAN")
    con.execute("create or replace table names as select name, is_player(name) as own from "
                "(select distinct name from sides where name is not null)")
    con.execute(
        """
        create or replace table asked as
        select s.*, coalesce(a.own, false) as own, coalesce(b.own, false) as other_own
        from sides s left join names a on a.name = s.name left join names b on b.name = s.other
        """
    )
    con.execute("delete from asked where own and other_own")
    opponents = answer["peers"]["from"] == "opponents"
    con.execute(
        f"""
        create or replace table chosen as
        select *, false as opponent from asked where own
        union all
        select *, true from asked where other_own and {opponents}
        union all
        select *, false from asked s where not {opponents} and not own and not other_own
          and exists (select 1 from asked p where p.own and p.band = s.band and p.time_class = s.time_class)
        """
    )


def counts(con, answer):
    """The table `counted`: a row a side, with events and base of each figure."""
    choose(con, answer)
    p = answer["parameters"]
    columns = []
    for figures, side in [(OWN, "mine"), (OTHERS, "not mine")]:
        for name, (events, base) in figures.items():
            for what, condition in [("n", events), ("d", base)]:
                if condition is not None:
                    condition = condition.format(within=p["within"], long=p["long"])
                    columns.append(f"count(*) filter (where {side} and {condition}) as {what}_{name}")
    chances = [
        f"count(*) filter (where {side} and {of} and {taken}) as {what}_{name}"
        for name, (side, of) in CHANCES.items() for what, taken in [("n", "restrains"), ("d", "true")]
    ]
    chances += [f"count(*) filter (where mine and {which}) as {what}_missed_worse" for what, which in zip("nd", MISSED)]
    turns = [
        f"count(*) filter (where {left} and {of}) as {what}_{name}"
        for name, left in TURNS.items() for what, of in [("n", f"restrained_{p['k']} is not null"), ("d", "true")]
    ]
    seconds = [
        f"{counted} filter (where {which}) as {what}_{name}"
        for name, which in SECONDS.items()
        for what, counted in [("n", "sum(round(used::double * 1000)::bigint)"), ("d", "count(*)")]
    ]
    con.execute(
        f"""
        create or replace table counted as
        with found as (
            select c.source, c.game, c.color, {", ".join(columns)}
            from (select c.*, s.* exclude (source, game, color, fold, band, time_class), s.color = c.color as mine
                  from chosen c join spells s on s.source = c.source and s.game = c.game
                  where s.k_low <= {p["k"]} and {p["k"]} <= s.k_high) c
            group by all
        )
        , chances as (
            select c.source, c.game, c.color, {", ".join(chances)}
            from (select c.source, c.game, c.color, d.kind, d.phase, d.clock, d.restrains, d.eval_5, d.color = c.color as mine
                  from chosen c join decisions d on d.source = c.source and d.game = c.game) c
            group by all
        )
        , of_turns as (
            select c.source, c.game, c.color, {", ".join(turns)}
            from chosen c join turns t on t.source = c.source and t.game = c.game and t.color = c.color
            where t.sampled and t.clock is not null
            group by all
        )
        , seconds as (
            select source, game, color, {", ".join(seconds)}
            from (select c.source, c.game, c.color, t.ply, any_value(t.seconds_used) as used,
                         count(t.restrained_{p["k"]}) as restrained
                  from chosen c join turns t on t.source = c.source and t.game = c.game and t.color = c.color
                  where t.sampled and t.seconds_used >= 0
                  group by all)
            group by all
        )
        select c.own, c.opponent, c.band, c.time_class, c.color, c.eco, c.start_fen, c.fold, c.source, c.game, f.* exclude (source, game, color),
               h.* exclude (source, game, color),
               t.* exclude (source, game, color), s.* exclude (source, game, color)
        from chosen c left join found f using (source, game, color) left join chances h using (source, game, color)
        left join of_turns t using (source, game, color) left join seconds s using (source, game, color)
        """
    )
