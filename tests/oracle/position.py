"""Everything measured at one position, for both sides, each in its own role (sections 3 to 6)."""

from collections import OrderedDict
from dataclasses import dataclass

import chess

from exchange import Exchanges, good_of
from reach import legal_squares, unit_reach
from units import COLOR_NAME, KIND_NAME

LETTERS = ((chess.PAWN, "P"), (chess.KNIGHT, "N"), (chess.BISHOP, "B"),
           (chess.ROOK, "R"), (chess.QUEEN, "Q"), (chess.KING, "K"))


@dataclass(frozen=True)
class Facts:
    """What is measured of one unit. Sets of squares are bitboards."""

    color: chess.Color
    kind: chess.PieceType
    reach: int
    safe: int
    legal: int | None  # None for the side not on move


def measure(board: chess.Board) -> dict[int, Facts]:
    """Facts of every unit by square."""
    exchanges = Exchanges(board)
    legal = legal_squares(board)
    facts = {}
    for square, piece in board.piece_map().items():
        reach = unit_reach(board, square)
        facts[square] = Facts(
            color=piece.color,
            kind=piece.piece_type,
            reach=reach,
            safe=exchanges.safe_of(square, reach),
            legal=legal.get(square) if piece.color == board.turn else None,
        )
    return facts


class Measurer:
    """Measures positions and remembers the latest ones: openings repeat from game to game."""

    def __init__(self, size: int = 20_000):
        self.size = size
        self.known: OrderedDict[tuple, dict[int, Facts]] = OrderedDict()

    def measure(self, board: chess.Board) -> dict[int, Facts]:
        """Facts of every unit by square."""
        key = (board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings,
               board.occupied_co[chess.WHITE], board.turn, board.castling_rights, board.ep_square,
               board.chess960)
        if key in self.known:
            self.known.move_to_end(key)
            return self.known[key]
        facts = measure(board)
        self.known[key] = facts
        if len(self.known) > self.size:
            self.known.popitem(last=False)
        return facts


def letters(board: chess.Board, units: int) -> str:
    """The kinds among units as letters, each once."""
    return "".join(letter for kind, letter in LETTERS if units & board.pieces_mask(kind, True)
                   or units & board.pieces_mask(kind, False))


def attacked_by(board: chess.Board, square: int) -> str:
    """Kinds of enemy units that attack the unit on `square`, as letters; pins ignored."""
    return letters(board, board.attackers_mask(not board.color_at(square), square))


def defended(board: chess.Board, square: int) -> bool:
    """Whether an own unit attacks the square of the unit on it; pins ignored."""
    return bool(board.attackers_mask(board.color_at(square), square))


def sums_by_kind(facts: dict[int, Facts]) -> dict[str, int]:
    """Safe mobility by colour and kind, as `white_pawn` …"""
    sums = {f"{c}_{k}": 0 for c in COLOR_NAME.values() for k in KIND_NAME.values()}
    for fact in facts.values():
        sums[f"{COLOR_NAME[fact.color]}_{KIND_NAME[fact.kind]}"] += fact.safe.bit_count()
    return sums


def names(squares: int) -> list[str]:
    """A set of squares as names from a1 to h8."""
    return [chess.square_name(s) for s in chess.scan_forward(squares)]


def describe(board: chess.Board) -> dict:
    """A position's facts as plain data, in the shape that `hobble position` prints."""
    facts = measure(board)
    units = []
    for square in sorted(facts):
        fact = facts[square]
        units.append({
            "square": chess.square_name(square),
            "color": COLOR_NAME[fact.color],
            "kind": KIND_NAME[fact.kind],
            "reach": names(fact.reach),
            "safe": names(fact.safe),
            "good": names(good_of(fact.color, square, fact.safe)),
            "legal": None if fact.legal is None else names(fact.legal),
            "attacked_by": attacked_by(board, square),
            "defended": defended(board, square),
        })
    return {
        "turn": COLOR_NAME[board.turn],
        "legal_total": sum(f.legal.bit_count() for f in facts.values() if f.legal is not None),
        "units": units,
    }
