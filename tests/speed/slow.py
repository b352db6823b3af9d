"""Times the slow reading of the definitions (tests/oracle: python-chess and plain Python) on
games taken at even distances from an archive.

    python slow.py FILE --games N

Prints one line of JSON: games, plies, seconds of CPU for all figures, and for python-chess's
own reading of the same games alone.
"""

import argparse
import io
import json
import pathlib
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "oracle"))

import chess.pgn
from archive import RawGame, Skipped
from position import Measurer
from restraint import rows_of

BORDER = b'\n[Event "'


def spread(data, count):
    """About `count` games at even distances, in order."""
    text = b"\n" + data
    last = -1
    for i in range(count):
        start = text.find(BORDER, max(last, i * len(text) // count))
        if start < 0:
            return
        end = text.find(BORDER, start + 1)
        last = end if end >= 0 else len(text)
        yield text[start + 1:last]
        if end < 0:
            return


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("pgn", type=pathlib.Path)
    parser.add_argument("--games", type=int, required=True)
    arguments = parser.parse_args()
    texts = list(spread(arguments.pgn.read_bytes(), arguments.games))

    measurer = Measurer()
    games = plies = 0
    start = time.process_time()
    for number, text in enumerate(texts, start=1):
        try:
            rows = rows_of(RawGame(number, 0, 1, text), arguments.pgn.name, measurer)
        except Skipped:
            continue
        games += 1
        plies += len(rows.moves)
    all_figures = time.process_time() - start

    start = time.process_time()
    for text in texts:
        chess.pgn.read_game(io.StringIO(text.decode("latin-1")))
    read_alone = time.process_time() - start
    print(json.dumps({
        "games": games, "plies": plies, "cpu": all_figures, "read_cpu": read_alone,
    }))


if __name__ == "__main__":
    main()
