"""Exchange value, safe and good squares (definitions, section 4).

`answer` is the written formula word for word: every attacker is tried, nothing is ordered
and nothing cut off. Only results are remembered, for the same squares still full, the same
side to capture and the same value on the square give the same answer.
"""

import chess

from reach import promotes, unit_reach
from units import VALUE

BIT = chess.BB_SQUARES


class Exchange:
    """Exchanges on one square of one position."""

    def __init__(self, board: chess.Board, target: int):
        self.board = board
        self.target = target
        self.answers: dict[tuple[int, bool, int], int] = {}

    def going(self, origin: int) -> int:
        """Exchange value of the unit on `origin` going to the target, in pawns."""
        board, target = self.board, self.target
        color = board.color_at(origin)
        full = board.occupied & ~BIT[origin]
        gain = 0
        victim = board.piece_type_at(target)
        if victim is not None:
            gain = VALUE[victim]
        elif board.pawns & BIT[origin] and chess.square_file(origin) != chess.square_file(target):
            # En passant: the captured pawn stands beside the origin and leaves the board.
            gain = VALUE[chess.PAWN]
            full &= ~BIT[chess.square(chess.square_file(target), chess.square_rank(origin))]
        full |= BIT[target]
        value, rise = self.arrival(origin)
        return gain + rise - self.answer(not color, value, full)

    def arrival(self, origin: int) -> tuple[int, int]:
        """What stands on the target once the unit of `origin` has come: (value, rise)."""
        if promotes(self.board, origin, self.target):
            return VALUE[chess.QUEEN], VALUE[chess.QUEEN] - VALUE[chess.PAWN]
        return VALUE[self.board.piece_type_at(origin)], 0

    def attackers(self, side: chess.Color, full: int) -> int:
        """Units of `side` still on their squares that attack the target (pins ignored)."""
        return self.board.attackers_mask(side, self.target, full) & full

    def answer(self, side: chess.Color, standing: int, full: int) -> int:
        """What `side` can net by capturing the unit worth `standing`, or by stopping (0).

        `full` is the set of squares with a unit on them; the target is among them.
        """
        key = (full, side, standing)
        if key in self.answers:
            return self.answers[key]
        best = 0
        for origin in chess.scan_forward(self.attackers(side, full)):
            left = full & ~BIT[origin]
            if self.board.kings & BIT[origin]:
                if self.attackers(not side, left):
                    continue
            value, rise = self.arrival(origin)
            best = max(best, standing + rise - self.answer(not side, value, left))
        self.answers[key] = best
        return best


class Exchanges:
    """All exchanges of one position, each square's answers remembered."""

    def __init__(self, board: chess.Board):
        self.board = board
        self.by_target: dict[int, Exchange] = {}

    def going(self, origin: int, target: int) -> int:
        """Exchange value of going from `origin` to `target`."""
        if target not in self.by_target:
            self.by_target[target] = Exchange(self.board, target)
        return self.by_target[target].going(origin)

    def safe_of(self, origin: int, reach: int) -> int:
        """The squares of `reach` which are safe for the unit on `origin`."""
        if self.board.kings & BIT[origin]:
            return reach
        safe = 0
        for target in chess.scan_forward(reach):
            if self.going(origin, target) >= 0:
                safe |= BIT[target]
        return safe


CENTRE = sum(
    BIT[chess.square(file, row)] for file in range(2, 6) for row in range(2, 6)
)  # files c to f, rows 3 to 6


def good_of(color: chess.Color, square: int, safe: int) -> int:
    """The good squares among the safe ones of a unit on `square`."""
    row = chess.square_rank(square)
    good = 0
    for target in chess.scan_forward(safe):
        ahead = chess.square_rank(target) - row
        if color == chess.BLACK:
            ahead = -ahead
        if BIT[target] & CENTRE or ahead > 0:
            good |= BIT[target]
    return good


def exchange_value(fen: str, origin: str, target: str, chess960: bool = False) -> int:
    """Exchange value by names, for worked cases."""
    board = chess.Board(fen, chess960=chess960)
    return Exchange(board, chess.parse_square(target)).going(chess.parse_square(origin))


def safe_without_pin(board: chess.Board, square: int) -> int:
    """Safe squares of a piece were the pin left out of its reach (section 6, `pinned`)."""
    return Exchanges(board).safe_of(square, unit_reach(board, square, leave_pin_out=True))
