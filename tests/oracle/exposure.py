"""The exposure cube (definitions, section 8)."""

from collections import Counter

from captures import fates
from classes import HORIZONS, phase
from heading import Heading
from position import attacked_by, defended
from track import Track
from units import KIND_NAME, PIECES

KEYS = ("kind", "safe", "developed", "attacked", "defended", "phase", "band", "time_class",
        "rating_diff", "fold")
MEASURES = ("turns",) + tuple(
    f"{outcome}_{n}" for n in HORIZONS for outcome in ("lost", "traded", "sold", "over")
)


def add_exposure(cube: dict[tuple, Counter], track: Track, heading: Heading, fold: int) -> None:
    """Add the observations of a game: each turn times each piece of the side on move."""
    found = fates(track.units, track.plies, track.boards)
    for unit in track.units:
        if unit.kind not in PIECES:
            continue
        word = found[unit.slot].word if unit.captured is not None else None
        for p in track.turns(unit):
            board, square = track.boards[p], unit.square(p)
            key = (
                KIND_NAME[unit.kind],
                min(track.safe(unit, p), 9),
                unit.developed(p),
                attacked_by(board, square) != "",
                defended(board, square),
                phase(board, p),
                heading.band(unit.color),
                heading.time_class,
                heading.rating_diff(unit.color),
                fold,
            )
            measures = cube.setdefault(key, Counter())
            measures["turns"] += 1
            for n in HORIZONS:
                if word is not None and unit.captured <= p + 2 * n:
                    measures[f"{word}_{n}"] += 1
                elif track.length < p + 2 * n:
                    measures[f"over_{n}"] += 1
