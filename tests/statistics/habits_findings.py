"""The three findings that open a player's page, chosen again: which figures, and whether the spell or the
chance shown is of their kind, by SQL."""

from habits_beside import SAMPLED

GET_OUT, OWN_MOVE, QUIET, WAY_OUT = "look first for a move", "Before your own move", "look for a quiet move", "way out"

# By how a figure's name begins: what to look for, and the spells that show it.
SPELLS = [
    (("restrained_lost",), GET_OUT, "restrained and ended = 'lost'"),
    (("lost_within", "ended_lost"), GET_OUT, "ended = 'lost'"),
    (("long",), GET_OUT, "true"),
    (("replies",), GET_OUT, "ended = 'lost'"),
    (("by_own_moves",), OWN_MOVE, "cause_by = 'own'"),
    (("blocked_by_",), OWN_MOVE, "cause = 'blocked' and cause_kind = '{last}'"),
    (("blocked",), OWN_MOVE, "cause = 'blocked'"),
    (("entered",), OWN_MOVE, "cause = 'entered'"),
    (("pinned_by_own",), OWN_MOVE, "cause = 'pinned' and cause_by = 'own'"),
    (("restrained",), WAY_OUT, "restrained and {of}"),
    (("taken", "pinned"), WAY_OUT, "cause = '{last}' and cause_by = 'opponent'"),
    (("held",), WAY_OUT, "{of}"),
]
KINDS = ("knight", "bishop", "rook", "queen")
PHASES = ("opening", "middlegame", "endgame")


def of(name):
    """The condition that a figure's last word sets: a kind or a phase, or none."""
    last = name.rsplit("_", 1)[-1]
    if last.rstrip("s") in KINDS:
        return f"kind = '{last.rstrip('s')}'"
    return f"phase = '{last}'" if last in PHASES else "true"


def meaning(name):
    """What to look for and, for figures of spells, their condition."""
    if name.startswith("chances_taken") or name == "missed_worse":
        return QUIET, None
    for begins, look_for, condition in SPELLS:
        if name.startswith(begins):
            return look_for, condition.format(last=name.rsplit("_", 1)[-1], of=of(name))
    return None


def expected(answer, sample):
    """Names of the figures, in order: named ones to the player's disadvantage, then what fills up."""
    games = answer["player"]["games"]
    found = []
    for one in (one for section in answer["sections"] for one in section["measures"]):
        left_out = "_against" in one["name"] or one["name"] == "held_undeveloped" or not meaning(one["name"])
        if left_out or not one["stands_out"]:
            continue
        wants_more = one["name"].startswith("chances_taken")
        if (one["ratio"]["value"] > 1) == wants_more:
            continue
        cases = abs(one["difference"]["value"])
        if one["unit"] != "per_game":
            cases *= one["you"]["base"] / games * (sample if one["name"].startswith(SAMPLED) else 1)
        found.append((-cases, one["name"]))
    return [name for _, name in sorted(found)] + ["replies", "chances_taken", "restrained_lost"]


def findings(con, answer, sample, report):
    """Compares them; each shown spell and chance is one of the player's and fits its figure."""
    names = expected(answer, sample)
    report.same("at most three findings", True, len(answer["findings"]) <= 3)
    shown = [one["figure"] for one in answer["findings"]]
    # Some may be left out for want of a board, or since the same was said before; none goes before its turn.
    places = [names.index(name) for name in shown]
    report.same("order of the findings", places, sorted(places))
    looks = [next(look for look in (GET_OUT, OWN_MOVE, QUIET, WAY_OUT) if look in one["look_for"])
             for one in answer["findings"]]
    report.same("said once", len(looks), len(set(looks)))
    first = next((name for name in names if name not in ("replies", "chances_taken", "restrained_lost")), None)
    if first:
        report.same("the first finding", shown[:1], [first])
    k = answer["parameters"]["k"]
    for one in answer["findings"]:
        what = f"finding {one['figure']}"
        game, chance = one["game"], one["chance"]
        report.same(f"{what}: one board", 1, (game is not None) + (chance is not None))
        if game:
            fills_up = one["figure"] == "restrained_lost" and one["figure"] == names[-1] and WAY_OUT in one["look_for"]
            condition = "restrained" if fills_up else meaning(one["figure"])[1]
            rows = con.execute(
                f"""
                select count(*) from spells s join asked a using (source, game, color)
                where a.own and developed and k_low <= {k} and {k} <= k_high and {condition}
                  and a.game_id = ? and start_ply = ? and kind = ? and turns = ?
                """,
                [int(game["game"]["game_id"], 16), game["start_ply"], game["kind"], game["turns"]],
            ).fetchall()[0][0]
            report.same(f"{what}: the spell", True, rows > 0)
        if chance:
            rows = con.execute(
                f"""
                select count(*) from decisions d join asked a using (source, game, color)
                where a.own and not restrains and {of(one["figure"])} and a.game_id = ? and ply = ? and square = ?
                """,
                [int(chance["game"]["game_id"], 16), chance["ply"], chance["square"]],
            ).fetchall()[0][0]
            report.same(f"{what}: the chance", 1, rows)
