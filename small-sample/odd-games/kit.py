"""What the lists of odd games are written with."""

MARK = "§"  # stands before the offending place of a skipped game; not written
FILES = []


def as_bytes(text):
    return text if isinstance(text, bytes) else text.encode("utf-8")


class Segment:
    """A stretch of a file: one game, or text that is not one (`verdict` None)."""

    def __init__(self, text, verdict, **more):
        self.text = as_bytes(text)
        self.verdict = verdict
        self.__dict__.update(more)


def tags(event="Odd games", white="Cobble, Nan", black="Thistle, Jo", result="1-0", **more):
    """A tag section."""
    pairs = [
        ("Event", event),
        ("Site", "Little Dray"),
        ("Date", "2023.11.05"),
        ("Round", "1"),
        ("White", white),
        ("Black", black),
        ("Result", result),
        *more.items(),
    ]
    return "".join(f'[{name} "{value}"]\n' for name, value in pairs)


def kept(text, moves, result, fen=None, c960=False, **extra):
    """A game that is kept: the moves that must be read from it, its result, its start."""
    return Segment(
        text, "kept", moves=moves.split(), result=result, fen=fen, c960=c960, extra=extra
    )


def plain(movetext, fen=None, **more):
    """A game that is kept, whose moves are read as they are written: from the usual start or from a FEN."""
    *words, result = movetext.split()
    moves = " ".join(word for word in words if not word.endswith("."))
    start = {} if fen is None else {"SetUp": "1", "FEN": fen}
    return kept(f"{tags(result=result, **more, **start)}\n{movetext}\n\n", moves, result, fen=fen)


def set_up(fen, movetext, moves, start=None, **more):
    """A game from a FEN that is kept, with the moves that must be read from it; `start` is the position
    that must be read where the FEN says another."""
    result = movetext.split()[-1]
    text = f"{tags(result=result, **more, SetUp='1', FEN=fen)}\n{movetext}\n\n"
    return kept(text, moves, result, fen=start or fen, c960="Variant" in more)


def skip(text, reason):
    """A game that is skipped; MARK stands before the place that is to blame."""
    return Segment(text, "skipped", reason=reason)


def raw(text):
    """Text that counts as nothing."""
    return Segment(text, None)


def add(name, why, *segments, packed=False):
    """A file of the folder."""
    FILES.append((name, why, segments, packed))


def good(number=2, result="1/2-1/2"):
    """A sound neighbour, to see that a broken game takes nothing with it."""
    event = f"Sound neighbour {number}"
    moves = "e4 e5 Nf3 Nc6 Bb5 a6 Ba4 Nf6"
    head = tags(event=event, white="Sedge, Ida", black="Burdock, Ulf", result=result)
    text = f"{head}\n1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4 Nf6 {result}\n\n"
    return kept(text, moves, result, event=event)


def crlf(text):
    return text.replace("\n", "\r\n")
