"""Moves that are tried: where units go, what hangs, and whether a move is quiet and gives nothing
away (definitions, section 5)."""

import chess

from exchange import Exchanges
from position import Facts
from reach import destination, unit_reach


def squares_after(board: chess.Board, move: chess.Move) -> dict[int, int]:
    """Where each unit goes that is still itself after the move, by the square it stands on: a
    captured unit and a pawn that promotes are left out."""
    stays = {square: square for square in board.piece_map()}
    if board.is_castling(move):
        kingside = board.is_kingside_castling(move)
        row = 8 * chess.square_rank(move.from_square)
        rook = move.to_square
        if board.piece_at(rook) != chess.Piece(chess.ROOK, board.turn):
            rook = (chess.H1 if kingside else chess.A1) + row
        stays[move.from_square] = (chess.G1 if kingside else chess.C1) + row
        stays[rook] = (chess.F1 if kingside else chess.D1) + row
        return stays
    if board.is_en_passant(move):
        beside = chess.square(chess.square_file(move.to_square), chess.square_rank(move.from_square))
        del stays[beside]
    elif move.to_square in stays:
        del stays[move.to_square]
    if move.promotion is None:
        stays[move.from_square] = move.to_square
    else:
        del stays[move.from_square]
    return stays


def hanging(board: chess.Board, color: chess.Color) -> set[int]:
    """Units of `color` that hang (definitions, section 5)."""
    if board.turn == color:
        board = board.copy(stack=False)
        board.turn, board.ep_square = not color, None
    exchanges = Exchanges(board)
    found = set()
    for origin in chess.scan_forward(board.occupied_co[not color]):
        for target in chess.scan_forward(unit_reach(board, origin)):
            victim = target
            if not board.occupied & chess.BB_SQUARES[target]:
                pawn = board.piece_type_at(origin) == chess.PAWN
                if not pawn or chess.square_file(origin) == chess.square_file(target):
                    continue
                victim = chess.square(chess.square_file(target), chess.square_rank(origin))
            if exchanges.going(origin, target) > 0:
                found.add(victim)
    return found


def sound(board: chess.Board, move: chess.Move, facts: dict[int, Facts], hung: set[int]) -> bool:
    """Whether the move is quiet and gives nothing away; `facts` and `hung`, the units of its side
    that hang, are of the position it is played in."""
    if board.is_capture(move) or move.promotion is not None:
        return False
    if not facts[move.from_square].safe & chess.BB_SQUARES[destination(board, move)]:
        return False
    after = board.copy(stack=False)
    after.push(move)
    if after.is_check():
        return False
    stays = squares_after(board, move)
    return hanging(after, board.turn) <= {stays[square] for square in hung}
