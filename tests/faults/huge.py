"""Text without measure: memory and time stay within bounds, totals right."""

import gzip

import zstandard

from kit import counts, expect, fed, games, hobble, scan

MOST_MIB = 400
MEGABYTE = 1 << 20


def bounded(ran, seconds=60):
    expect(ran.peak <= MOST_MIB * 1024, f"{ran.peak / 1024:.0f} MiB at the peak")
    expect(ran.seconds <= seconds, f"{ran.seconds:.0f} seconds")
    return f"peak {ran.peak / 1024:.0f} MiB, {ran.seconds:.1f} s"


def one_line(head, unit, tail):
    def case(work):
        chunk = unit * (MEGABYTE // len(unit))
        text = [games(2).encode(), head, *([chunk] * 1024), tail, games(2, "y").encode()]
        data = work / "data"
        ran = fed(text, "scan", "-", "--out", data)
        counts(data, 5, 4, too_long=1)
        used = bounded(ran)
        code, line = ran.well("too long")
        return code, f"{line} ({used})"

    return case


def long_game(work):
    moves = "Nf3 Nf6 Ng1 Ng8 " * 5000
    data = work / "data"
    (work / "x.pgn").write_text(f'[Event "long"]\n\n{moves}*\n\n' + games(1))
    ran = scan(data, work / "x.pgn")
    counts(data, 2, 2)
    expect("20,000" in ran.out, "not 20,000 plies")
    return ran.well()[0], f"(nothing to say; {bounded(ran)})"


def nested(close):
    def case(work):
        depth = 10_000
        text = "1. e4 " + "(1. d4 d5 " * depth + ") " * (depth if close else depth - 1) + "1... e5 *"
        data = work / "data"
        (work / "x.pgn").write_text(games(1) + f'[Event "deep"]\n\n{text}\n\n' + games(1))
        ran = hobble("scan", work / "x.pgn", "--out", data)
        bounded(ran)
        if close:
            counts(data, 3, 3)
            return ran.well()
        counts(data, 3, 2, unreadable_token=1)
        return ran.well("unreadable token")

    return case


def bomb(pack, unit):
    """Two gigabytes of one thing, in 32 packed pieces, behind a game, which they make too
    long as no other begins before their end, and before a good one."""

    def case(work):
        data, file = work / "data", work / "x.pgn.packed"
        piece = pack(unit * (64 * MEGABYTE // len(unit)))
        with file.open("wb") as out:
            out.write(pack(games(1).encode()))
            for _ in range(32):
                out.write(piece)
            out.write(pack(b"\n" + games(1, "y").encode()))
        size = file.stat().st_size
        ran = scan(data, file)
        used = bounded(ran, 90)
        counts(data, 2, 1, too_long=1)
        return ran.well()[0], f"2 GiB from {size:,} bytes ({used})"

    return case


def blank_start(work):
    """Blank lines before a game are not part of it, however many."""
    data = work / "data"
    ran = fed([b"\n" * MEGABYTE] * 100 + [games(2).encode()], "scan", "-", "--out", data)
    counts(data, 2, 2)
    return ran.well()[0], f"(nothing to say; {bounded(ran)})"


def squeeze(data):
    return gzip.compress(data, 1)


def freeze(data):
    return zstandard.ZstdCompressor(level=1).compress(data)


CASES = [
    ("a line of 1 GiB: a comment", one_line(b'[Event "l"]\n\n1. e4 {', b"abcdefgh", b"} e5 *\n\n")),
    ("a line of 1 GiB: a tag", one_line(b'[Event "', b"abcdefgh", b'"]\n\n1. e4 e5 *\n\n')),
    ("a line of 1 GiB: brackets and quotes", one_line(b'[Event "l"]\n\n{', b'[A "(} ;', b"} e5 *\n\n")),
    ("a game of 20,000 plies", long_game),
    ("nesting of 10,000 variations", nested(True)),
    ("nesting of 10,000 variations, one not closed", nested(False)),
    ("2 GiB of zero bytes in a .zst", bomb(freeze, b"\0")),
    ("2 GiB of spaces in a .gz", bomb(squeeze, b" ")),
    ("2 GiB of tag openings in a .zst", bomb(freeze, b"[ no tag\n")),
    ("100 MiB of blank lines before a game", blank_start),
]
