"""What stands around a piece: attackers, defenders, a wedge of pawns (definitions, section 6)."""

import chess

from position import letters


def units_on(board: chess.Board, color: chess.Color, square: int) -> int:
    """Units of a side that attack a square, pins ignored."""
    return board.attackers_mask(color, square)


def defence(board: chess.Board, square: int) -> dict:
    """Who defends the unit on a square, and whether a bishop there is behind a wedge."""
    own = units_on(board, board.color_at(square), square)
    return {
        "defended": own != 0,
        "defended_by": letters(board, own),
        "defenders": own.bit_count(),
        "wedge": wedge(board, square),
    }


def attack(board: chess.Board, square: int) -> dict:
    """Who attacks the unit on a square."""
    enemy = units_on(board, not board.color_at(square), square)
    return {"attacked_by": letters(board, enemy), "attackers": enemy.bit_count()}


def wedge(board: chess.Board, square: int) -> bool | None:
    """Whether the bishop on the square stands behind a wedge; None for other kinds."""
    if board.piece_type_at(square) != chess.BISHOP:
        return None
    forward = 1 if board.color_at(square) == chess.WHITE else -1
    ways = [way for way in (diagonal(square, side, forward) for side in (-1, 1)) if len(way) >= 2]
    return bool(ways) and all(is_shut(board, board.color_at(square), way) for way in ways)


def diagonal(square: int, side: int, forward: int) -> list[int]:
    """The squares of a diagonal in front of a square, the nearest first."""
    found = []
    file, row = chess.square_file(square) + side, chess.square_rank(square) + forward
    while 0 <= file < 8 and 0 <= row < 8:
        found.append(chess.square(file, row))
        file, row = file + side, row + forward
    return found


def is_shut(board: chess.Board, color: chess.Color, way: list[int]) -> bool:
    """Whether pawns shut a forward diagonal of a bishop of `color`."""
    met = next((s for s in way if board.piece_at(s) is not None), None)
    if met is None or board.piece_type_at(met) != chess.PAWN:
        return False
    enemy_pawns = board.pieces_mask(chess.PAWN, not color)
    if board.color_at(met) == color:
        in_front = met + (8 if color == chess.WHITE else -8)
        return bool(enemy_pawns & chess.BB_SQUARES[in_front])
    return bool(board.attackers_mask(not color, met) & enemy_pawns)
