"""Reach and legal destinations (definitions, section 3).

Sets of squares are python-chess bitboards: whole numbers with one bit a square.
"""

import chess

from units import first_row, last_row

BIT = chess.BB_SQUARES


def turn_passed_to(board: chess.Board, color: chess.Color) -> chess.Board:
    """The position as `color` meets it: as it is when on move, else with the turn passed and
    en passant off."""
    if board.turn == color:
        return board
    passed = board.copy(stack=False)
    passed.turn = color
    passed.ep_square = None
    return passed


def sliders_on_king(board: chess.Board, color: chess.Color, occupied: int) -> int:
    """Enemy bishops, rooks and queens that attack the king of `color` when `occupied` is full.

    Units whose square is not in `occupied` are taken to be gone.
    """
    king = board.king(color)
    attackers = board.attackers_mask(not color, king, occupied)
    return attackers & (board.bishops | board.rooks | board.queens) & occupied


def castling_squares(board: chess.Board, color: chess.Color) -> int:
    """Destination squares of the king (g- or c-file) where castling is allowed in full.

    `board` has `color` on move. python-chess checks rights, path and attacks.
    """
    squares = 0
    row = 8 * first_row(color)
    for move in board.generate_castling_moves():
        kingside = board.is_kingside_castling(move)
        squares |= BIT[(chess.G1 if kingside else chess.C1) + row]
    return squares


def king_reach(board: chess.Board, square: int) -> int:
    """Reach of the king on `square`, its owner on move."""
    color = board.turn
    king = BIT[square]
    reach = 0
    around = board.attacks_mask(square) & ~board.occupied_co[color] & ~enemy_king(board)
    for target in chess.scan_forward(around):
        # The king is lifted: a slider sees through the square it leaves.
        if not board.attackers_mask(not color, target, board.occupied & ~king):
            reach |= BIT[target]
    return reach | castling_squares(board, color)


def enemy_king(board: chess.Board) -> int:
    """The king of the side not on move, as a set."""
    return board.kings & board.occupied_co[not board.turn]


def pawn_targets(board: chess.Board, square: int) -> tuple[int, int]:
    """Squares a pawn could go to before pins are looked at: (plain ones, en passant)."""
    color = board.turn
    forward = 8 if color == chess.WHITE else -8
    plain = 0
    one = square + forward
    if 0 <= one < 64 and not board.occupied & BIT[one]:
        plain |= BIT[one]
        from_second_row = chess.square_rank(square) == abs(first_row(color) - 1)
        if from_second_row and not board.occupied & BIT[one + forward]:
            plain |= BIT[one + forward]
    strikes = chess.BB_PAWN_ATTACKS[color][square]
    plain |= strikes & board.occupied_co[not color]
    passing = 0
    if board.ep_square is not None and strikes & BIT[board.ep_square]:
        captured = board.ep_square - forward
        stands = board.pawns & board.occupied_co[not color] & BIT[captured]
        if stands and not board.occupied & BIT[board.ep_square]:
            passing = BIT[board.ep_square]
    return plain, passing


def unit_reach(board: chess.Board, square: int, leave_pin_out: bool = False) -> int:
    """Reach of the unit on `square`; the turn is passed to its owner where need be.

    `leave_pin_out` gives the reach as if the own king could not be exposed: for a knight,
    bishop, rook or queen the only thing that exposes the king is leaving a line on which it
    is the single blocker, which is a pin.
    """
    color = board.color_at(square)
    board = turn_passed_to(board, color)
    kind = board.piece_type_at(square)
    if kind == chess.KING:
        return king_reach(board, square)
    if kind == chess.PAWN:
        plain, passing = pawn_targets(board, square)
    else:
        plain, passing = board.attacks_mask(square) & ~board.occupied_co[color], 0
    plain &= ~enemy_king(board)
    if leave_pin_out:
        return plain | passing

    before = sliders_on_king(board, color, board.occupied)
    lifted = board.occupied & ~BIT[square]
    reach = 0
    if not sliders_on_king(board, color, lifted) & ~before:
        # Leaving opens no line, and arriving can only close one: nothing here exposes the king.
        reach = plain
    else:
        for target in chess.scan_forward(plain):
            after = sliders_on_king(board, color, lifted | BIT[target])
            # A slider captured on the target no longer attacks.
            if not after & ~before & ~BIT[target]:
                reach |= BIT[target]
    if passing:
        target = board.ep_square
        captured = target - 8 if color == chess.WHITE else target + 8
        after = sliders_on_king(board, color, (lifted | passing) & ~BIT[captured])
        if not after & ~before:
            reach |= passing
    return reach


def legal_squares(board: chess.Board) -> dict[int, int]:
    """Distinct legal destinations by origin, for the side on move, by python-chess's own rules.

    Castling is the king's destination, and the king's alone.
    """
    legal = {square: 0 for square in chess.scan_forward(board.occupied_co[board.turn])}
    for move in board.legal_moves:
        legal[move.from_square] |= BIT[destination(board, move)]
    return legal


def destination(board: chess.Board, move: chess.Move) -> int:
    """Where the unit that moves arrives; for castling the king."""
    if not board.is_castling(move):
        return move.to_square
    kingside = board.is_kingside_castling(move)
    return (chess.G1 if kingside else chess.C1) + 8 * first_row(board.turn)


def is_pinned(board: chess.Board, square: int) -> bool:
    """Whether the unit is the single blocker between its king and an enemy slider that would
    otherwise attack the king (section 6)."""
    color = board.color_at(square)
    king = board.king(color)
    if square == king:
        return False
    for slider in chess.scan_forward(
        board.occupied_co[not color] & (board.bishops | board.rooks | board.queens)
    ):
        kind = board.piece_type_at(slider)
        diagonal = chess.BB_DIAG_ATTACKS[slider][0] & BIT[king]
        straight = (chess.BB_RANK_ATTACKS[slider][0] | chess.BB_FILE_ATTACKS[slider][0]) & BIT[king]
        sees = (diagonal and kind != chess.ROOK) or (straight and kind != chess.BISHOP)
        if sees and chess.between(slider, king) & board.occupied == BIT[square]:
            return True
    return False


def promotes(board: chess.Board, square: int, target: int) -> bool:
    """Whether going from `square` to `target` is a pawn's arrival on its last row."""
    pawn = board.pawns & BIT[square]
    return bool(pawn) and chess.square_rank(target) == last_row(board.color_at(square))
