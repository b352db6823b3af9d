"""Archives made from the open archive: with odd games, cut into files, with another word."""

from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
# The open archive has no game that must be skipped: some go before it, some behind it.
ODD = (("illegal-move", "null-move"), ("ambiguous-move", "start-unreadable", "unreadable-move", "variant-other"))


def with_odd_games(archive, to):
    odd = lambda names: [(ROOT / f"small-sample/odd-games/{name}.pgn").read_bytes() for name in names]  # noqa: E731
    to.write_bytes(b"\n".join([*odd(ODD[0]), archive.read_bytes(), *odd(ODD[1])]))
    return to


def cut(archive, folder, count):
    """Cuts an archive at game borders into files of about the same size."""
    text = archive.read_bytes()
    folder.mkdir(parents=True)
    start, places = 0, []
    for number in range(count):
        end = len(text)
        if number + 1 < count:
            end = text.index(b"\n\n[Event ", len(text) * (number + 1) // count) + 2
        piece = text[start:end]
        (folder / f"{number:02}.pgn").write_bytes(piece)
        places.append((start, text[:start].count(b"\n") if start else 0))
        start = end
    return places


def other_text(archive, to):
    """A copy of the same size, with another word in it."""
    text = archive.read_bytes()
    to.write_bytes(text.replace(b'[Event "', b'[Event_"', 1))
    return to
