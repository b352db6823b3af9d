"""Phase, ratings, bands and time class (definitions, section 9)."""

import re

import chess

from units import officers_value

HORIZONS = (3, 5, 10, 15, 20)


def phase(board: chess.Board, position: int) -> str:
    """Phase of the game at a position."""
    value = officers_value(board)
    if position < 20 and value >= 56:
        return "opening"
    return "endgame" if value <= 26 else "middlegame"


def rating(text: str | None) -> int | str:
    """A rating from its tag: a number, `unrated` or `missing`."""
    if text in ("-", "0"):
        return "unrated"
    if text and re.fullmatch(r"[0-9]+", text) and 1 <= int(text) <= 4000:
        return int(text)
    return "missing"


def band(value: int | str, width: int = 100) -> str:
    """Rating band, named by its bounds."""
    if isinstance(value, str):
        return value
    low = value // width * width
    return f"{low}-{low + width - 1}"


def rating_difference(own: int | str, theirs: int | str) -> str:
    """Class of the owner's rating less the opponent's."""
    if isinstance(own, str) or isinstance(theirs, str):
        return "unknown"
    difference = own - theirs
    if difference <= -200:
        return "<=-200"
    if difference <= -50:
        return "-199..-50"
    if difference <= 49:
        return "-49..49"
    if difference <= 199:
        return "50..199"
    return ">=200"


def time_class(text: str | None) -> str:
    """Time class from the TimeControl tag (PGN standard, section 9.6)."""
    if text is None:
        return "unknown"
    if text == "-":
        return "correspondence"
    seconds = 0
    increment = 0
    for stage in text.split(":"):
        if match := re.fullmatch(r"([0-9]+)/([0-9]+)", stage):
            moves, stage_seconds = int(match[1]), int(match[2])
            if moves == 0:
                return "unknown"
            if stage_seconds / moves >= 3600:
                return "correspondence"
            seconds += stage_seconds
        elif match := re.fullmatch(r"([0-9]+)\+([0-9]+)", stage):
            seconds += int(match[1])
            increment = max(increment, int(match[2]))
        elif match := re.fullmatch(r"\*?([0-9]+)", stage):
            seconds += int(match[1])
        else:
            return "unknown"
    estimate = seconds + 40 * increment
    if estimate < 180:
        return "bullet"
    if estimate < 480:
        return "blitz"
    return "rapid" if estimate < 1500 else "classical"
