"""What a captured piece was worth in the end: lost, traded or sold (definitions, section 7)."""

import chess

from identity import Ply, Unit
from units import balance


def net_of(unit: Unit, plies: list[Ply], boards: list[chess.Board]) -> int:
    """Owner's net material, in pawns, in the exchange that captured the unit.

    `plies[i - 1]` is ply i and `boards[p]` position p.
    """
    e, square = unit.captured, unit.captured_on
    z = e
    while z < len(plies) and plies[z].captured_on == square:  # ply z + 1 captures there too
        z += 1
    b = e - 2 if unit.came(e - 1) else e - 1
    return balance(boards[z], unit.color) - balance(boards[b], unit.color)


def fate_by_net(net: int) -> str:
    """The word for a captured piece."""
    if net <= -2:
        return "lost"
    return "sold" if net >= 2 else "traded"
