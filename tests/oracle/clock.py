"""Time left and time used, from clock comments (definitions, section 10)."""

import re

import chess
import numpy

from track import Track


def time_control(text: str | None) -> tuple[int | None, int | None, bool]:
    """(base, increment, whether it is one stage for the whole game)."""
    stages = [
        re.fullmatch(r"\*?(?:([0-9]{1,9})/)?([0-9]{1,9})(?:\+([0-9]{1,9}))?", stage)
        for stage in (text or "").strip().split(":")
    ]
    if not all(stages):
        return None, None, False
    increment = max(int(stage[3] or 0) for stage in stages)
    return int(stages[0][2]), increment, len(stages) == 1 and stages[0][1] is None


def clock_of(track: Track, p: int, color: chess.Color, control: tuple) -> float | None:
    """Time the side has left, from the last comment on one of its plies; before its first ply the base of
    TimeControl, in a game that has a clock comment."""
    base, _, _ = control
    own = [track.clocks[ply.number - 1] for ply in track.plies[:p] if ply.side == color]
    if not own:
        started = base is not None and any(clock is not None for clock in track.clocks)
        return float(base) if started else None
    known = [clock for clock in own if clock is not None]
    return known[-1] if known else None


def seconds_used(track: Track, p: int, control: tuple) -> float | None:
    """Seconds the side on move at turn p used for its move: the clock after its move before, less the
    clock after this one, and the increment."""
    _, increment, one_stage = control
    if not one_stage or p < 2 or track.clocks[p - 2] is None or track.clocks[p] is None:
        return None
    before, after = (float(numpy.float32(track.clocks[ply])) for ply in (p - 2, p))
    return before - after + increment
