"""Names, letters and values of units (definitions, section 2)."""

import chess

KIND_NAME = {
    chess.PAWN: "pawn",
    chess.KNIGHT: "knight",
    chess.BISHOP: "bishop",
    chess.ROOK: "rook",
    chess.QUEEN: "queen",
    chess.KING: "king",
}
COLOR_NAME = {chess.WHITE: "white", chess.BLACK: "black"}

# Pieces in the narrow sense: the ones that can be restricted.
PIECES = (chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN)

# Common practice, no source. The king is not counted.
VALUE = {
    chess.PAWN: 1,
    chess.KNIGHT: 3,
    chess.BISHOP: 3,
    chess.ROOK: 5,
    chess.QUEEN: 9,
    chess.KING: 0,
}


def balance(board: chess.Board, color: chess.Color) -> int:
    """Material of `color` less that of the other side, in pawns."""
    total = 0
    for kind, value in VALUE.items():
        own = len(board.pieces(kind, color))
        theirs = len(board.pieces(kind, not color))
        total += value * (own - theirs)
    return total


def officers_value(board: chess.Board) -> int:
    """Value of the knights, bishops, rooks and queens of both sides (62 at the usual start)."""
    return sum(
        VALUE[kind] * len(board.pieces(kind, color)) for kind in PIECES for color in chess.COLORS
    )


def first_row(color: chess.Color) -> int:
    """Index of the owner's first row."""
    return 0 if color == chess.WHITE else 7


def last_row(color: chess.Color) -> int:
    """Index of the row on which the owner's pawns promote."""
    return 7 if color == chess.WHITE else 0
