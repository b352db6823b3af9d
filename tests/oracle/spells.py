"""Rows of the table `spells`: restriction, its cause, its end and what came after
(definitions, section 6)."""

import chess

from captures import Fate, fates
from classes import phase
from exchange import good_of, safe_without_pin
from clock import clock_of, time_control
from heading import Heading
from identity import Unit
from evaluation import evaluation, evaluation_after
from position import attacked_by
from reach import is_pinned
from running import Spell, others
from surroundings import defence
from track import Track
from units import KIND_NAME, PIECES, balance

CAUSE = ("cause", "cause_by", "cause_kind", "quiet", "safe_before", "squares_taken")


def cause_of(track: Track, unit: Unit, start: int, k: int) -> dict:
    """Why the piece is restricted at k from turn `start` on."""
    on_board_at_start = unit.birth == 0
    if on_board_at_start and all(track.safe(unit, p) <= k for p in range(start)):
        return {"cause": "undeveloped", "cause_ply": None, "cause_by": None,
                "cause_kind": None, "quiet": None, "safe_before": None, "squares_taken": None}

    before = track.safe(unit, start - 1)
    c = start - 1 if before is not None and before <= k else start
    ply = track.plies[c - 1]
    own = ply.side == unit.color
    if pinned_by(track, unit, c, k):
        cause = "pinned"
    elif unit.came(c):
        cause = "entered"
    elif own:
        cause = "blocked"
    else:
        cause = "taken"
    return {
        "cause": cause,
        "cause_ply": c,
        "cause_by": "own" if own else "opponent",
        "cause_kind": KIND_NAME[ply.mover],
        "quiet": ply.captured is None and ply.promotion is None and not ply.check,
        "safe_before": track.safe(unit, c - 1),
        "squares_taken": squares_taken(track, unit, c),
    }


def spell_fields(spell: Spell | None) -> dict:
    """What a row has of a spell's cause; None where there is no spell."""
    return {name: None if spell is None else spell.cause[name] for name in CAUSE}


def squares_taken(track: Track, unit: Unit, c: int) -> int | None:
    """Safe squares that ply c took from the piece; None where it did not exist before."""
    before = track.facts_of(unit, c - 1)
    if before is None:
        return None
    return (before.safe & ~track.facts_of(unit, c).safe).bit_count()


def pinned_by(track: Track, unit: Unit, c: int, k: int) -> bool:
    """Whether ply c pinned the piece, and the pin is what keeps it to k squares."""
    now = track.boards[c]
    if not is_pinned(now, unit.square(c)):
        return False
    earlier = unit.square(c - 1)
    if earlier is not None and is_pinned(track.boards[c - 1], earlier):
        return False
    return safe_without_pin(now, unit.square(c)).bit_count() > k


def end_of(track: Track, unit: Unit, run: list[int], k: int, fate: dict) -> dict:
    """How a run ended."""
    next_turn = run[-1] + 2
    if unit.captured is not None and unit.captured <= next_turn:
        return {"ended": fate["fate"], "end_ply": unit.captured, "end_by": None, "moved_away": None}
    if next_turn >= track.length:
        return {"ended": "game over", "end_ply": track.length, "end_by": None, "moved_away": None}
    if track.safe(unit, next_turn - 1) > k:
        own_ply = next_turn - 1
        return {"ended": "freed", "end_ply": own_ply, "end_by": "own",
                "moved_away": own_ply in unit.moved}
    return {"ended": "freed", "end_ply": next_turn, "end_by": "opponent", "moved_away": None}


def fate_of(unit: Unit, found: dict[int, Fate]) -> dict:
    """What became of the piece in the whole game."""
    if unit.captured is None:
        return {"fate": "survived", "fate_ply": None, "net": None}
    fate = found[unit.slot]
    return {"fate": fate.word, "fate_ply": unit.captured, "net": fate.net}


def state_at(track: Track, spells: list[Spell], unit: Unit, p: int, control: tuple) -> dict:
    """The piece and its owner at a turn."""
    board, square = track.boards[p], unit.square(p)
    facts = track.facts_of(unit, p)
    return {
        "square": chess.square_name(square),
        "safe": facts.safe.bit_count(),
        "good": good_of(unit.color, square, facts.safe).bit_count(),
        "reach": facts.reach.bit_count(),
        "legal": facts.legal.bit_count(),
        "attacked_by": attacked_by(board, square),
        **defence(board, square),
        **others(track, spells, unit, p),
        "developed": unit.developed(p),
        "phase": phase(board, p),
        "balance": balance(board, unit.color),
        "clock": clock_of(track, p, unit.color, control),
        "eval": evaluation(track, p, unit.color),
    }


def material_after(track: Track, unit: Unit, p: int, moves: int) -> int | None:
    """Change of the owner's balance from position p to p + 2 × moves."""
    then = p + 2 * moves
    if then > track.length:
        return None
    return balance(track.boards[then], unit.color) - balance(track.boards[p], unit.color)


def owner_result(result: str, color: chess.Color) -> str:
    """The game's result for the owner."""
    if result == "*":
        return "unknown"
    if result == "1/2-1/2":
        return "draw"
    return "win" if (result == "1-0") == (color == chess.WHITE) else "loss"


def spell_rows(track: Track, spells: list[Spell], game: int, fold: int, heading: Heading, result: str) -> list[dict]:
    """One row a spell, in the order piece, k_low, start."""
    rows = []
    found = fates(track.units, track.plies, track.boards)
    control = time_control(heading.text["TimeControl"])
    for unit in track.units:
        if unit.kind not in PIECES:
            continue
        fate = fate_of(unit, found)
        rows_of_unit: list[dict] = []
        for spell in (spell for spell in spells if spell.unit is unit):
            k, start = spell.k, spell.turns[0]
            shared = {
                "start_ply": start,
                **spell.cause,
                **end_of(track, unit, spell.turns, k, fate),
                "turns": len(spell.turns),
                "restrained": spell.restrains,
            }
            same = [
                row for row in rows_of_unit
                if row["k_high"] == k - 1
                and all(row[name] == value for name, value in shared.items())
            ]
            if same:
                same[0]["k_high"] = k
                continue
            rows_of_unit.append({
                "game": game,
                "fold": fold,
                "piece": unit.slot,
                "kind": KIND_NAME[unit.kind],
                "color": "white" if unit.color == chess.WHITE else "black",
                "k_low": k,
                "k_high": k,
                **shared,
                **state_at(track, spells, unit, start, control),
                "barred": (track.facts_of(unit, start).reach & ~track.facts_of(unit, start).legal).bit_count(),
                **fate,
                **{f"material_{n}": material_after(track, unit, start, n) for n in (3, 5, 10)},
                **{f"eval_{n}": evaluation_after(track, start, unit.color, n) for n in (3, 5, 10)},
                "plies_left": track.length - start,
                "owner_result": owner_result(result, unit.color),
                "band": heading.band(unit.color),
                "rating_diff": heading.rating_diff(unit.color),
                "time_class": heading.time_class,
            })
        rows += rows_of_unit
    return rows
