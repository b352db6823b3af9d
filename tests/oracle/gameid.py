"""Game id and moves id (definitions, section 9)."""

import struct

import chess
import xxhash

ID_TAGS = ("Event", "Site", "Date", "Round", "White", "Black", "Result")
PROMOTION = {None: 0, chess.KNIGHT: 2, chess.BISHOP: 3, chess.ROOK: 4, chess.QUEEN: 5}


def moves_bytes(plies) -> bytes:
    """Each ply as two bytes, little-endian."""
    return b"".join(
        struct.pack("<H", p.origin + 64 * p.target + 4096 * PROMOTION[p.promotion]) for p in plies
    )


def ids(tags: dict[str, bytes], plies) -> tuple[int, int]:
    """(game id, moves id). Tag values are the bytes of the file, escapes undone."""
    start_and_moves = tags.get("FEN", b"") + b"\0" + moves_bytes(plies)
    heading = b"".join(tags.get(name, b"") + b"\0" for name in ID_TAGS)
    return (
        xxhash.xxh3_64_intdigest(heading + start_and_moves, seed=0),
        xxhash.xxh3_64_intdigest(start_and_moves, seed=0),
    )
