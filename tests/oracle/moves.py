"""Rows of the table `moves`: what each ply does to the safe squares (definitions, section 5)."""

import chess

from captures import fates
from position import sums_by_kind
from track import Track
from units import KIND_NAME


def taken_and_given(track: Track, number: int, color: chess.Color) -> tuple[int, int]:
    """Safe squares that ply `number` took from and gave to the units of `color`.

    Only units that stand on the board both before and after are looked at: a captured unit, a
    promoted pawn and the piece born of it are thereby left out.
    """
    taken = given = 0
    for unit in track.units:
        if unit.color != color:
            continue
        before = track.facts_of(unit, number - 1)
        after = track.facts_of(unit, number)
        if before is None or after is None:
            continue
        taken += (before.safe & ~after.safe).bit_count()
        given += (after.safe & ~before.safe).bit_count()
    return taken, given


def move_rows(track: Track, game: int) -> list[dict]:
    """One row a ply."""
    rows = []
    found = fates(track.units, track.plies, track.boards)
    victims = {unit.captured: unit for unit in track.units if unit.captured is not None}
    for ply in track.plies:
        victim = victims.get(ply.number)
        fate = None if victim is None else found[victim.slot]
        before = track.facts[ply.number - 1]
        taken, given = taken_and_given(track, ply.number, not ply.side)
        own_taken, own_given = taken_and_given(track, ply.number, ply.side)
        pawns, mate = track.evals[ply.number - 1]
        rows.append({
            "game": game,
            "ply": ply.number,
            "mover": KIND_NAME[ply.mover],
            "from_square": chess.square_name(ply.origin),
            "to_square": chess.square_name(ply.target),
            "captured": None if ply.captured is None else KIND_NAME[ply.captured],
            "promotion": None if ply.promotion is None else KIND_NAME[ply.promotion],
            "gives_check": ply.check,
            "castling": ply.castling,
            "en_passant": ply.en_passant,
            "legal": sum(f.legal.bit_count() for f in before.values() if f.legal is not None),
            "taken": taken,
            "given": given,
            "own_taken": own_taken,
            "own_given": own_given,
            "captured_safe":
                None if ply.captured is None else before[ply.captured_on].safe.bit_count(),
            "captured_fate": None if fate is None else fate.word,
            "captured_net": None if fate is None else fate.net,
            **sums_by_kind(track.facts[ply.number]),
            "clock": track.clocks[ply.number - 1],
            "eval": pawns,
            "mate": mate,
        })
    return rows
