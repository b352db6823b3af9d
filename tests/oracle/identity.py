"""Units followed from their first square to their end (definitions, section 2)."""

from dataclasses import dataclass, field

import chess

from reach import destination
from units import first_row


@dataclass
class Unit:
    """One unit of a game."""

    slot: int
    color: chess.Color
    kind: chess.PieceType
    birth: int  # position at which it first stands on the board: 0, or the promoting ply
    path: list[int | None] = field(default_factory=list)  # square by position, from `birth`
    moved: list[int] = field(default_factory=list)  # plies with which it moved, castling included
    captured: int | None = None  # ply that captured it
    captured_on: int | None = None
    promoted: int | None = None  # ply with which, a pawn, it promoted

    def square(self, position: int) -> int | None:
        """Where it stands at a position, None where it does not."""
        index = position - self.birth
        return self.path[index] if 0 <= index < len(self.path) else None

    def came(self, ply: int) -> bool:
        """Whether it moved, castled or was born with the ply."""
        return ply in self.moved or (self.birth == ply and ply > 0)

    def developed(self, position: int) -> bool:
        """Whether it is developed at the position."""
        if self.birth > 0:
            return True
        if chess.square_rank(self.path[0]) != first_row(self.color):
            return True
        return any(ply <= position for ply in self.moved)


@dataclass(frozen=True)
class Ply:
    """What a ply is, by the rules."""

    number: int
    side: chess.Color
    mover: chess.PieceType
    origin: int
    target: int  # for castling the king's
    captured: chess.PieceType | None
    captured_on: int | None
    promotion: chess.PieceType | None
    check: bool
    castling: bool
    en_passant: bool


class Roster:
    """The units of a game and where each stands at each position."""

    def __init__(self, start: chess.Board):
        self.units: list[Unit] = []
        self.on: dict[int, Unit] = {}
        for square in chess.SQUARES:
            piece = start.piece_at(square)
            if piece is not None:
                self.add(piece.color, piece.piece_type, 0, square)
        self.note_position()

    def add(self, color: chess.Color, kind: chess.PieceType, birth: int, square: int) -> Unit:
        """A new unit in the next slot."""
        unit = Unit(len(self.units), color, kind, birth)
        self.units.append(unit)
        self.on[square] = unit
        return unit

    def note_position(self) -> None:
        """Write down where every unit on the board stands."""
        for square, unit in self.on.items():
            unit.path.append(square)

    def play(self, before: chess.Board, move: chess.Move, number: int) -> Ply:
        """Follow ply `number`, played on the board `before`."""
        side = before.turn
        unit = self.on.pop(move.from_square)
        castling = before.is_castling(move)
        target = destination(before, move)
        captured_on = None
        captured_kind = None
        if castling:
            rook_from = rook_of(before, move)
            rook = self.on.pop(rook_from)
            self.on[target - 1 if target % 8 == 6 else target + 1] = rook
            rook.moved.append(number)
        else:
            if before.is_en_passant(move):
                captured_on = target + (-8 if side == chess.WHITE else 8)
            elif target in self.on:
                captured_on = target
            if captured_on is not None:
                victim = self.on.pop(captured_on)
                victim.captured, victim.captured_on = number, captured_on
                captured_kind = victim.kind
        mover = unit.kind
        if move.promotion:
            unit.promoted = number
            self.add(side, move.promotion, number, target)
        else:
            self.on[target] = unit
            unit.moved.append(number)
        self.note_position()
        return Ply(
            number=number,
            side=side,
            mover=mover,
            origin=move.from_square,
            target=target,
            captured=captured_kind,
            captured_on=captured_on,
            promotion=move.promotion,
            check=before.gives_check(move),
            castling=castling,
            en_passant=before.is_en_passant(move),
        )


def rook_of(board: chess.Board, move: chess.Move) -> int:
    """Square of the rook that castles with the move."""
    if board.piece_at(move.to_square) == chess.Piece(chess.ROOK, board.turn):
        return move.to_square
    row = 8 * first_row(board.turn)
    return row + (chess.H1 if board.is_kingside_castling(move) else chess.A1)
