"""Evaluation of positions, from comments (definitions, section 10)."""

import math

import chess
import numpy

from track import Track

MOST = 1000


def hundredths(track: Track, p: int, color: chess.Color) -> int | None:
    """Evaluation of position p seen from `color`, which is on move there; None where none."""
    if p < 1 or p > track.length:
        return None
    pawns, mate = track.evals[p - 1]
    sign = 1 if color == chess.WHITE else -1
    if mate is not None:
        if mate == 0:
            return -MOST
        return sign * (MOST if mate > 0 else -MOST)
    if pawns is None:
        return None
    # The table `moves` holds 32 bits.
    value = float(numpy.float32(pawns)) * 100
    rounded = math.copysign(math.floor(abs(value) + 0.5), value)
    return sign * int(max(-MOST, min(MOST, rounded)))


def evaluation(track: Track, p: int, color: chess.Color) -> float | None:
    """The same in pawns."""
    found = hundredths(track, p, color)
    return None if found is None else found / 100


def evaluation_after(track: Track, p: int, color: chess.Color, moves: int) -> float | None:
    """Change of the evaluation in some moves, seen from the side on move at p."""
    now, later = hundredths(track, p, color), hundredths(track, p + 2 * moves, color)
    return None if now is None or later is None else (later - now) / 100
