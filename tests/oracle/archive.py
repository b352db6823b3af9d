"""Reads games from an archive's bytes: cuts it into games, reads tags, and leaves the moves to
python-chess.

The cutting follows the rules in small-sample/odd-games/README.md. Bytes are carried as Latin-1
characters, one a byte, so that nothing is lost on the way through python-chess.
"""

import bz2
import gzip
import io
import re
from dataclasses import dataclass
from pathlib import Path

import chess
import chess.pgn
import zstandard

TAG_LINE = re.compile(rb'\[\s*[A-Za-z0-9_]+\s*"')
TAG = re.compile(rb'\[\s*([A-Za-z0-9_]+)\s*"((?:[^"\\\r\n]|\\.)*)"\s*\]')
MARK = b"\xef\xbb\xbf"
RESULTS = ("1-0", "0-1", "1/2-1/2", "*")


class Skipped(ValueError):
    """A game that is left out whole; the text is the reason."""


@dataclass(frozen=True)
class RawGame:
    """A game's text and where it starts."""

    number: int
    offset: int
    line: int
    text: bytes


@dataclass(frozen=True)
class Played:
    """A game as read: tags in bytes, start, moves, comments."""

    tags: dict[str, bytes]
    start: chess.Board
    moves: list[chess.Move]
    comments: list[str]  # by ply; those behind the ply, joined
    result: str
    variant: str


def read_bytes(path: Path) -> bytes:
    """The unpacked bytes of an archive file."""
    data = Path(path).read_bytes()
    if path.suffix == ".gz":
        return gzip.decompress(data)
    if path.suffix == ".bz2":
        return bz2.decompress(data)
    if path.suffix == ".zst":
        return zstandard.ZstdDecompressor().stream_reader(io.BytesIO(data)).read()
    return data


def cut(data: bytes, limit: int | None = None):
    """The games of an archive, in order, numbered from 1.

    A game begins at a tag line that follows moves or a blank line behind tags, and otherwise
    at the first line that holds anything.
    """
    number, line, offset = 0, 0, 0
    start = None  # (offset, line) of the running game
    in_moves = blank_behind_tags = False
    for raw in data.splitlines(keepends=True) if limit is None else io.BytesIO(data):
        line += 1
        here = offset
        offset += len(raw)
        content = raw.removeprefix(MARK)  # a byte order mark is a part of the game behind it
        if content.startswith(b"%"):
            continue
        if not content.strip():
            blank_behind_tags = start is not None and not in_moves
            continue
        is_tag = TAG_LINE.match(content) is not None
        if start is not None and is_tag and (in_moves or blank_behind_tags):
            number += 1
            yield RawGame(number, *start, data[start[0]:here])
            if limit is not None and number >= limit:
                return
            start = None
            in_moves = False
        if start is None:
            start = (here, line)
        if not is_tag and not content.startswith(b"["):
            in_moves = True
        elif is_tag:
            last_tag = list(TAG.finditer(content))
            rest = content[last_tag[-1].end():] if last_tag else b""
            if rest.strip():
                in_moves = True
        blank_behind_tags = False
    if start is not None:
        yield RawGame(number + 1, *start, data[start[0]:])


class Reader(chess.pgn.GameBuilder):
    """Builds python-chess's game; also keeps what stands behind the moves."""

    def __init__(self):
        super().__init__()
        self.token = None

    def visit_result(self, result):
        self.token = result
        super().visit_result(result)

    def begin_variation(self):
        # Whatever stands in a variation is passed over, right or wrong.
        self.variation_stack.append(self.variation_stack[-1])
        return chess.pgn.SKIP

    def handle_error(self, error):
        self.game.errors.append(error)


def split_tags(text: bytes) -> tuple[dict[str, bytes], bytes]:
    """(tags with escapes undone, the first one of a name counting; the text of the moves)."""
    tags: dict[str, bytes] = {}
    position = 0
    while True:
        while match := re.compile(rb"[ \t\r\n]+|%[^\n]*\n|\xef\xbb\xbf").match(text, position):
            position = match.end()
        match = TAG.match(text, position)
        if match is None:
            break
        value = re.sub(rb'\\(["\\])', rb"\1", match[2])
        tags.setdefault(match[1].decode("ascii"), value)
        position = match.end()
    if TAG_LINE.match(text, position):
        raise Skipped("unclosed tag")
    return tags, text[position:]


def moves_text(text: bytes) -> str:
    """The moves as python-chess can take them: no blank and no escaped lines."""
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith(b"%")]
    return "\n".join(line.decode("latin-1") for line in lines)


WORD = re.compile(
    r"""(?:
      [NBKRQ]?[a-h]?[1-8]?[-x]?[a-h][1-8](?:=?[NBRQ])?[+\#]*
    | (?:O-O(?:-O)?|0-0(?:-0)?)[+\#]*
    )[!?]*(?:e\.p\.)?$""",
    re.VERBOSE,
)


def check_words(text: str) -> None:
    """Raise Skipped where the main line holds anything that is no move, number, mark or result.

    python-chess passes over such words.
    """
    depth = 0
    ended = False
    position = 0
    while position < len(text):
        char = text[position]
        if char == "{":
            close = text.find("}", position)
            if close < 0:
                raise Skipped("unclosed comment")
            position = close + 1
        elif char == ";":
            close = text.find("\n", position)
            position = len(text) if close < 0 else close + 1
        elif char in "()":
            depth += 1 if char == "(" else -1
            if depth < 0:
                raise Skipped("unreadable token")
            position += 1
        elif char.isspace():
            position += 1
        else:
            match = re.compile(r"[^\s{};()]+").match(text, position)
            if match is None:
                raise Skipped("unreadable token")
            word = match[0]
            position = match.end()
            if depth:
                continue
            if word in RESULTS:
                ended = True
                continue
            if word in ("--", "Z0", "0000", "@@@@"):
                raise Skipped("null move")
            word = re.sub(r"^[0-9]+\.+|^\.+", "", word)
            if word == "" or re.fullmatch(r"[0-9]+|\$[0-9]+|[!?]+", word):
                continue
            if ended or not WORD.match(word):
                raise Skipped("unreadable token")
    if depth:
        raise Skipped("unreadable token")


def variant_of(tags: dict[str, bytes]) -> str:
    """`standard` or `chess960`; other rules are skipped."""
    name = re.sub(r"[^a-z0-9]", "", tags.get("Variant", b"").decode("latin-1").lower())
    if name in ("", "standard", "chess", "normal", "fromposition"):
        return "standard"
    if name in ("chess960", "fischerandom", "fischerrandom", "frc"):
        return "chess960"
    raise Skipped("variant")


def start_of(tags: dict[str, bytes], variant: str) -> chess.Board:
    """The start position."""
    fen = tags.get("FEN", b"").decode("latin-1")
    try:
        board = chess.Board(fen or chess.STARTING_FEN, chess960=variant == "chess960")
    except ValueError:
        raise Skipped("unreadable start") from None
    impossible = (
        len(board.piece_map()) > 32
        or len(board.pieces(chess.KING, chess.WHITE)) != 1
        or len(board.pieces(chess.KING, chess.BLACK)) != 1
        or board.pawns & chess.BB_BACKRANKS
        or board.was_into_check()
        or board.status() & (chess.STATUS_TOO_MANY_CHECKERS | chess.STATUS_IMPOSSIBLE_CHECK)
    )
    if impossible:
        raise Skipped("impossible start")
    return board


def read(raw: RawGame) -> Played:
    """A game with its moves. Raises Skipped."""
    tags, text = split_tags(raw.text)
    moves = moves_text(text)
    if not tags and not re.match(r"\s*(\{|[0-9]+\.|[NBKRQa-hO01*])", moves):
        raise Skipped("no game")
    variant = variant_of(tags)
    start = start_of(tags, variant)
    check_words(moves)
    heading = f'[FEN "{start.fen(shredder=variant == "chess960")}"]\n[SetUp "1"]\n'
    if variant == "chess960":
        heading += '[Variant "Chess960"]\n'
    reader = Reader()
    game = chess.pgn.read_game(io.StringIO(heading + "\n" + moves + "\n"), Visitor=lambda: reader)
    if game.errors:
        raise Skipped("illegal move")
    result = reader.token
    if result is None:
        tag = tags.get("Result", b"").decode("latin-1")
        result = tag if tag in RESULTS else "*"
    nodes = list(game.mainline())
    return Played(tags, start, [n.move for n in nodes], [n.comment for n in nodes], result, variant)


def decode(value: bytes) -> tuple[str, bool]:
    """(text, whether it was repaired): UTF-8, else Latin-1 with control bytes replaced."""
    try:
        return value.decode("utf-8"), False
    except UnicodeDecodeError:
        return re.sub("[\x00-\x1f\x7f-\x9f]", "\ufffd", value.decode("latin-1")), True


CLOCK = re.compile(r"\[%clk\s+(\d+):(\d+):(\d+(?:\.\d+)?)\s*\]")
EVAL = re.compile(r"\[%eval\s+(?:#([+-]?\d+)|([+-]?\d+(?:\.\d+)?|[+-]?\.\d+))(?:,\d+)?\s*\]")


def clock_of(comment: str) -> float | None:
    """Seconds left, from a comment."""
    match = CLOCK.search(comment)
    return None if match is None else int(match[1]) * 3600 + int(match[2]) * 60 + float(match[3])


def eval_of(comment: str) -> tuple[float | None, int | None]:
    """(pawns, moves to mate), from a comment; positive for White."""
    match = EVAL.search(comment)
    if match is None:
        return None, None
    if match[1] is not None:
        return None, int(match[1])
    return float(match[2]), None
