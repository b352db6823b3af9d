"""A game laid out: every position with its facts, every ply, every unit (sections 1 to 3)."""

from dataclasses import dataclass

import chess

from archive import Played, clock_of, eval_of
from identity import Ply, Roster, Unit
from position import Facts, Measurer


@dataclass(frozen=True)
class Track:
    """`boards[p]` and `facts[p]` belong to position p; `plies[i - 1]` is ply i."""

    boards: list[chess.Board]
    facts: list[dict[int, Facts]]
    plies: list[Ply]
    units: list[Unit]
    clocks: list[float | None]  # by ply
    evals: list[tuple[float | None, int | None]]  # by ply

    @property
    def length(self) -> int:
        """Plies played (P)."""
        return len(self.plies)

    def safe(self, unit: Unit, position: int) -> int | None:
        """s(position) of the unit; None where it does not exist."""
        facts = self.facts_of(unit, position)
        return None if facts is None else facts.safe.bit_count()

    def facts_of(self, unit: Unit, position: int) -> Facts | None:
        """Facts of the unit at a position; None where it does not exist."""
        if position < 0 or unit.square(position) is None:
            return None
        return self.facts[position][unit.square(position)]

    def turns(self, unit: Unit) -> list[int]:
        """The owner's turns at which the unit is on the board. The last position is not a turn."""
        return [
            p for p in range(self.length)
            if self.boards[p].turn == unit.color and unit.square(p) is not None
        ]


def lay_out(played: Played, measurer: Measurer) -> Track:
    """Replay a game and measure every position."""
    board = played.start.copy(stack=False)
    roster = Roster(board)
    boards, plies = [board.copy(stack=False)], []
    for number, move in enumerate(played.moves, start=1):
        plies.append(roster.play(board, move, number))
        board.push(move)
        boards.append(board.copy(stack=False))
    return Track(
        boards=boards,
        facts=[measurer.measure(b) for b in boards],
        plies=plies,
        units=roster.units,
        clocks=[clock_of(c) for c in played.comments],
        evals=[eval_of(c) for c in played.comments],
    )
