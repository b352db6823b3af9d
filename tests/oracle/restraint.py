"""The slow reading of schemas/definitions.md: a game in, rows of every table out.

    python restraint.py GAMES.pgn [--limit N]

prints the rows of `games` and `spells` as JSON lines.
"""

import argparse
import json
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import chess

from archive import Played, RawGame, Skipped, cut, read, read_bytes
from decisions import decision_rows
from exposure import add_exposure
from gameid import ids
from heading import Heading, read_heading
from moves import move_rows
from position import Measurer, sums_by_kind
from running import spells_of
from side_rows import side_rows
from spells import cause_of, spell_rows
from track import Track, lay_out
from turns import turn_rows


@dataclass
class Rows:
    """What one game adds to the tables."""

    game: dict
    moves: list[dict]
    spells: list[dict]
    turns: list[dict]
    decisions: list[dict]
    sides: list[dict]
    exposure: dict[tuple, Counter] = field(default_factory=dict)
    boards: list[chess.Board] = field(default_factory=list)


def ending(board: chess.Board) -> str:
    """How the last position stands by the rules alone."""
    if board.is_checkmate():
        return "checkmate"
    if board.is_stalemate():
        return "stalemate"
    return "dead" if board.is_insufficient_material() else "open"


def start_fen(played: Played) -> str | None:
    """The FEN tag, where it has another position than the usual start."""
    if played.start == chess.Board(chess960=played.variant == "chess960"):
        return None
    return played.tags["FEN"].decode("latin-1")


def game_row(played: Played, raw: RawGame, file: str, track: Track, heading: Heading,
             game_id: int, moves_id: int) -> dict:
    """The row of `games`."""
    plies = track.plies
    start = sums_by_kind(track.facts[0])

    def rating(color):
        value = heading.ratings[color]
        return value if isinstance(value, int) else None

    text = heading.text
    return {
        "game": raw.number,
        "game_id": game_id,
        "moves_id": moves_id,
        "file": file,
        "byte_offset": raw.offset,
        "line": raw.line,
        "event": text["Event"],
        "site": text["Site"],
        "date": text["Date"],
        "round": text["Round"],
        "white": text["White"],
        "black": text["Black"],
        "result": played.result,
        "white_rating": rating(chess.WHITE),
        "black_rating": rating(chess.BLACK),
        "white_band": heading.band(chess.WHITE),
        "black_band": heading.band(chess.BLACK),
        "time_control": text["TimeControl"],
        "time_class": heading.time_class,
        "eco": text["ECO"],
        "termination": text["Termination"],
        "variant": played.variant,
        "start_fen": start_fen(played),
        "plies": len(plies),
        "captures": sum(p.captured is not None for p in plies),
        "en_passant": sum(p.en_passant for p in plies),
        "promotions": sum(p.promotion is not None for p in plies),
        "castlings": sum(p.castling for p in plies),
        "clocks": sum(c is not None for c in track.clocks),
        "evals": sum(e != (None, None) for e in track.evals),
        "ending": ending(track.boards[-1]),
        "repaired": heading.repaired,
        "unread_tags": played.unread_tags,
        "stray_text": played.stray_text,
        **{f"start_{name}": value for name, value in start.items()},
    }


def rows_of(raw: RawGame, file: str, measurer: Measurer, cube: bool = True,
            sample: int = 16) -> Rows:
    """All rows of a game; of its turns one in `sample`, and the landmarks. Raises Skipped where
    the game is left out."""
    played = read(raw)
    track = lay_out(played, measurer)
    heading = read_heading(played)
    game_id, moves_id = ids(played.tags, track.plies)
    fold = game_id % 64
    spells = spells_of(track, cause_of)
    tables = {
        "moves": move_rows(track, raw.number),
        "spells": spell_rows(track, spells, raw.number, fold, heading, played.result),
        "decisions": decision_rows(track, raw.number, game_id, heading, played.result, sample,
                                   {chess.WHITE: heading.text["White"],
                                    chess.BLACK: heading.text["Black"]}),
    }
    rows = Rows(
        game=game_row(played, raw, file, track, heading, game_id, moves_id),
        turns=turn_rows(track, spells, raw.number, game_id, heading, played.result, sample),
        **tables,
        sides=side_rows(track, raw.number, fold, heading, played.result, spells, tables),
        boards=track.boards,
    )
    if cube:
        add_exposure(rows.exposure, track, heading, fold)
    return rows


def main() -> None:
    """Print what the oracle reads in a file."""
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("pgn", type=Path)
    arguments.add_argument("--limit", type=int)
    options = arguments.parse_args()
    measurer = Measurer()
    for raw in cut(read_bytes(options.pgn), options.limit):
        try:
            rows = rows_of(raw, options.pgn.name, measurer)
        except Skipped as reason:
            print(json.dumps({"game": raw.number, "line": raw.line, "skipped": str(reason)}))
            continue
        print(json.dumps({"table": "games", **rows.game}))
        for row in rows.spells:
            print(json.dumps({"table": "spells", **row}))


if __name__ == "__main__":
    main()
