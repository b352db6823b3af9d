"""Writes the odd games and expected.json from the lists in cases_*.py, so that what is in a file and what
must be said of it stand side by side.

    python small-sample/odd-games/make.py            # writes the folder anew
    python small-sample/odd-games/make.py --check    # writes nothing, exits with 1 on a difference
    python small-sample/odd-games/make.py --compare  # where python-chess reads a file otherwise

Needs python-chess (PyPI `chess`), which replays the moves of every kept game and gives its
counts. All games and positions are made up.
"""

import gzip
import io
import json
import logging
import pathlib
import sys

import cases_moves  # noqa: F401  the lists add to FILES
import cases_notes  # noqa: F401
import cases_starts  # noqa: F401
import cases_text  # noqa: F401
import chess
import chess.pgn
from kit import FILES, MARK

OUT = pathlib.Path(__file__).resolve().parent


def build(segments):
    """The bytes of a file, and what must be said of its games."""
    data, games = b"", []
    mark = MARK.encode("utf-8")
    for segment in segments:
        first = 1 + data.count(b"\n")
        before, found, after = segment.text.partition(mark)
        data += before + after
        if segment.verdict is None:
            continue
        game = {"verdict": segment.verdict, "first_line": first}
        if segment.verdict == "skipped":
            game["reason"] = segment.reason
            game["line"] = first + (before.count(b"\n") if found else 0)
        else:
            game.update(counted(segment), **segment.extra)
        games.append(game)
    return data, games


def counted(segment):
    """Counts of a kept game, by python-chess."""
    board = chess.Board(segment.fen or chess.STARTING_FEN, chess960=segment.c960)
    captures = en_passant = promotions = castlings = 0
    for san in segment.moves:
        move = board.parse_san(san)
        captures += board.is_capture(move)
        en_passant += board.is_en_passant(move)
        promotions += move.promotion is not None
        castlings += board.is_castling(move)
        board.push(move)
    if board.is_checkmate():
        ending = "checkmate"
    elif board.is_stalemate():
        ending = "stalemate"
    else:
        ending = "dead" if board.is_insufficient_material() else "open"
    return {
        "plies": len(segment.moves),
        "captures": captures,
        "en_passant": en_passant,
        "promotions": promotions,
        "castlings": castlings,
        "result": segment.result,
        "clocks": 0,
        "evals": 0,
        "unread_tags": 0,
        "stray_text": False,
        "ending": ending,
        "variant": "chess960" if segment.c960 else "standard",
        "last_fen": board.fen(),
    }


def by_python_chess(data):
    """What python-chess reads: number of plies, result and last position of each game, or
    None where it reports an error."""
    text = io.StringIO(data.decode("utf-8-sig", "replace").replace("\r\n", "\n"))
    read = []
    while (game := chess.pgn.read_game(text)) is not None:
        if game.errors:
            read.append(None)
        else:
            last = game.end().board()
            read.append((last.ply() - game.board().ply(), game.headers["Result"], last.fen()))
    return read


def expected_text(entries):
    """expected.json, one game a line."""
    files = []
    for entry in entries:
        games = ",\n".join("      " + json.dumps(g, ensure_ascii=False) for g in entry["games"])
        games = f"[\n{games}\n    ]" if games else "[]"
        why = json.dumps(entry["why"], ensure_ascii=False)
        name = json.dumps(entry["file"])
        files.append(f'  {{\n    "file": {name},\n    "why": {why},\n    "games": {games}\n  }}')
    return ("[\n" + ",\n".join(files) + "\n]\n").encode("utf-8")


def main():
    wanted, entries = {}, []
    logging.disable(logging.CRITICAL)  # python-chess logs each error that it meets
    for name, why, segments, packed in sorted(FILES, key=lambda file: file[0]):
        data, games = build(segments)
        wanted[name] = (data, packed)
        entries.append({"file": name, "why": why, "games": games})
        if "--compare" in sys.argv and not packed:
            ours = [
                (g["plies"], g["result"], g["last_fen"]) if g["verdict"] == "kept" else None
                for g in games
            ]
            theirs = by_python_chess(data)
            if ours != theirs:
                print(name)
                for label, read in (("expected", ours), ("python-chess", theirs)):
                    print("   ", label, [r and r[:2] for r in read])
    wanted["expected.json"] = (expected_text(entries), False)
    if "--compare" in sys.argv:
        return 0

    def held(path, packed):
        data = path.read_bytes() if path.exists() else None
        return gzip.decompress(data) if packed and data is not None else data

    stale = [p.name for p in OUT.iterdir() if ".pgn" in p.name and p.name not in wanted]
    if "--check" in sys.argv:
        wrong = [n for n, (data, packed) in wanted.items() if held(OUT / n, packed) != data]
        for name in wrong + stale:
            print("differs:", name)
        return 1 if wrong or stale else 0
    for name in stale:
        (OUT / name).unlink()
    for name, (data, packed) in wanted.items():
        if held(OUT / name, packed) != data:
            (OUT / name).write_bytes(gzip.compress(data, 9, mtime=0) if packed else data)
    games = [game for entry in entries for game in entry["games"]]
    print(
        len(entries),
        "files,",
        len(games),
        "games,",
        sum(g["verdict"] == "kept" for g in games),
        "kept",
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
