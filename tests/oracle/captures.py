"""What became of captured units: lost, traded or sold (definitions, section 7)."""

from dataclasses import dataclass

import chess

from identity import Ply, Unit
from units import VALUE, balance

MOST_FREE = 2


@dataclass(frozen=True)
class Fate:
    """What became of a captured unit."""

    word: str
    net: int  # of its owner, in the run


def changes_material(ply: Ply) -> bool:
    """Whether the ply captures or promotes."""
    return ply.captured is not None or ply.promotion is not None


def is_forced(ply: Ply, boards: list[chess.Board]) -> bool:
    """Whether the ply gives check or is played in check."""
    return ply.check or boards[ply.number - 1].is_check()


def runs(plies: list[Ply], boards: list[chess.Board]) -> list[tuple[int, int]]:
    """The capture runs of a game: first and last ply of each."""
    found: list[tuple[int, int]] = []
    for number in (ply.number for ply in plies if changes_material(ply)):
        if found:
            first, last = found[-1]
            between = plies[last:number - 1]  # plies last + 1 … number - 1
            if sum(not is_forced(ply, boards) for ply in between) <= MOST_FREE:
                found[-1] = (first, number)
                continue
        found.append((number, number))
    return found


def worth(unit: Unit, a: int) -> int:
    """What a captured unit counts in pairing off; one born in the run, from ply a on, as a pawn."""
    return VALUE[chess.PAWN] if unit.birth >= a else VALUE[unit.kind]


def pair_off(own: list[Unit], other: list[Unit], a: int) -> dict[int, Unit | None]:
    """By slot of each captured unit of a side, the unit it is paired with, None if left over."""
    squares = {unit.captured_on for unit in other}
    order = sorted(own, key=lambda unit: (
        -worth(unit, a), unit.captured_on not in squares, unit.captured,
    ))
    free = list(other)
    paired: dict[int, Unit | None] = {}
    for unit in order:
        enough = [u for u in free if worth(u, a) >= worth(unit, a)]
        partner = min(enough, key=lambda u: worth(u, a), default=None)
        if partner is not None:
            free.remove(partner)
        paired[unit.slot] = partner
    return paired


def fates(units: list[Unit], plies: list[Ply], boards: list[chess.Board]) -> dict[int, Fate]:
    """What became of each captured unit, by slot.

    `plies[i - 1]` is ply i and `boards[p]` position p.
    """
    found: dict[int, Fate] = {}
    for a, z in runs(plies, boards):
        captured = [u for u in units if u.captured is not None and a <= u.captured <= z]
        for color in chess.COLORS:
            net = balance(boards[z], color) - balance(boards[a - 1], color)
            own = [u for u in captured if u.color == color]
            paired = pair_off(own, [u for u in captured if u.color != color], a)
            for unit in own:
                found[unit.slot] = Fate(word_of(unit, paired[unit.slot], net, a), net)
    return found


def word_of(unit: Unit, partner: Unit | None, net: int, a: int) -> str:
    """The word for a captured unit."""
    if net <= -2 and partner is None:
        return "lost"
    if net >= 2 and (partner is None or worth(partner, a) > worth(unit, a)):
        return "sold"
    return "traded"
