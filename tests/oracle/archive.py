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

TAG_LINE = re.compile(rb'[ \t]*\[\s*[A-Za-z0-9_]+\s*"')
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
    unread_tags: int = 0  # lines among the tags that could not be read
    stray_text: bool = False  # words behind the result that are not moves


def read_bytes(path: Path) -> bytes:
    """The unpacked bytes of an archive file; NUL bytes are blanks."""
    data = Path(path).read_bytes()
    if path.suffix == ".gz":
        data = gzip.decompress(data)
    elif path.suffix == ".bz2":
        data = bz2.decompress(data)
    elif path.suffix == ".zst":
        data = zstandard.ZstdDecompressor().stream_reader(io.BytesIO(data)).read()
    return data.replace(b"\0", b" ")


def cut(data: bytes, limit: int | None = None):
    """The games of an archive, in order, numbered from 1.

    A game begins at a tag line that follows moves or a blank line behind tags, and otherwise
    at the first line that holds anything. Lines that look like tags and cannot be read belong to
    the tags around them.
    """
    number, line, offset = 0, 0, 0
    start = None  # (offset, line) of the running game
    in_moves = blank_behind_tags = False
    unread = None  # (offset, line) of the first of the lines before that may be odd tags
    rest = 0  # lines of an odd tag's value still to come
    lines = data.splitlines(keepends=True) if limit is None else list(io.BytesIO(data))
    for index, raw in enumerate(lines):
        line += 1
        here = offset
        offset += len(raw)
        content = raw.removeprefix(MARK)  # a byte order mark is a part of the game behind it
        if rest:
            rest -= 1
            continue
        if content.startswith((b"%", b";")) and not in_moves:
            continue
        if not content.strip():
            blank_behind_tags = start is not None and not in_moves
            unread = None
            continue
        words = content.strip()
        is_tag = TAG_LINE.match(content) is not None
        if start is not None and is_tag and (in_moves or blank_behind_tags):
            at = unread if in_moves and unread is not None else (here, line)
            number += 1
            yield RawGame(number, *start, data[start[0]:at[0]])
            if limit is not None and number >= limit:
                return
            start = at
            in_moves = False
        if start is None:
            start = (here, line)
        is_odd = words.startswith(b"[") and not words.startswith(b"[%") and not (
            is_tag and TAG.match(words))
        unread = (unread or (here, line)) if re.fullmatch(rb"\[[A-Za-z].*\]", words) else None
        if not in_moves and is_odd:
            rest = lines_of_value(words, lines[index + 1:index + 9])
        elif not is_tag and not words.startswith(b"["):
            in_moves = True
        elif words.startswith(b"[%"):
            in_moves = True
        elif is_tag:
            last_tag = list(TAG.finditer(content))
            behind = content[last_tag[-1].end():] if last_tag else b""
            if behind.strip() and not words.endswith(b"]"):
                in_moves = True
        blank_behind_tags = False
    if start is not None:
        yield RawGame(number + 1, *start, data[start[0]:])


def lines_of_value(words: bytes, lines: list[bytes]) -> int:
    """How many of the lines behind an odd tag hold the rest of its value."""
    if words.count(b'"') != 1 and b"]" in words:
        return 0
    for count, raw in enumerate(lines, 1):
        content = raw.strip()
        if not content or content.startswith(b"["):
            return 0
        if content.endswith(b'"]'):
            return count
    return 0


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


DECIDING = re.compile(rb"\[\s*(FEN|Variant|SetUp)", re.IGNORECASE)


def split_tags(text: bytes) -> tuple[dict[str, bytes], bytes, int]:
    """(tags with escapes undone, the first one of a name counting; the text of the moves; how many
    lines were passed over).

    Lines that look like tags and cannot be read are passed over, unless the start or the rules
    depend on them or the text ends in one.
    """
    tags: dict[str, bytes] = {}
    position = unread = 0
    broken_off = False
    while True:
        while match := re.compile(rb"[ \t\r\n]+|%[^\n]*\n|\xef\xbb\xbf").match(text, position):
            position = match.end()
        match = TAG.match(text, position)
        line = re.compile(rb"[^\n]*").match(text, position)[0]
        if match is not None:
            broken_off = False
            value = re.sub(rb'\\(["\\])', rb"\1", match[2])
            tags.setdefault(match[1].decode("ascii"), value)
            position = match.end()
            continue
        if not line.startswith(b"["):
            break
        open_tag = UNQUOTED.match(line)
        if open_tag is not None and not is_doubtful(open_tag[3]):
            tags.setdefault(open_tag[1].decode("ascii"), open_tag[2])
            position += len(line)
            continue
        if DECIDING.match(line):
            raise Skipped("unclosed tag")
        broken_off = True
        unread += 1
        behind = text[position + len(line) + 1:].splitlines(keepends=True)[:8]
        count = lines_of_value(line.strip(), behind)
        position += len(line) + 1 + sum(map(len, behind[:count]))
        position = min(position, len(text))
    if broken_off and not text[position:].strip():
        raise Skipped("unclosed tag")
    return tags, text[position:], unread


# A tag whose value ends in a quote that is not escaped, whatever follows it in the line.
UNQUOTED = re.compile(rb'\[\s*([A-Za-z0-9_]+)\s*"([^"\r\n]*)"(.*?)\]?\s*$')


def is_doubtful(rest: bytes) -> bool:
    """Whether a quote that is not escaped leaves moves or a comment in the line of a tag."""
    words = rest.decode("latin-1").split()
    return any(WORD.match(word) or word.startswith("{") for word in words)


FIGURINES = dict(zip("♔♕♖♗♘♙♚♛♜♝♞♟", "KQRBN KQRBN ".replace(" ", "\0")))
DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
PASSING = re.compile(r"([a-h][1-8]?x[a-h][36][+#]?)\s*(?:e\.p\.|ep\.|e\.p|ep)([+#]?)(?=[\s!?{(;$*)]|$)")


def decode_moves(line: bytes) -> str:
    """A line of moves as text."""
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", "replace")


def moves_text(text: bytes) -> str:
    """The moves as python-chess can take them: no blank and no escaped lines; letters, dashes and
    signs as the standard has them."""
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith(b"%")]
    moves = "\n".join(decode_moves(line) for line in lines)
    pieces = re.split(r"(\{[^}]*\}|;[^\n]*)", moves)  # comments stay as they are
    return "".join(piece if at % 2 else standard_signs(piece) for at, piece in enumerate(pieces))


def standard_signs(moves: str) -> str:
    """Moves with the letters, dashes and signs of the standard."""
    moves = re.sub("[\ufe0e\ufe0f]", "", moves)
    moves = "".join(FIGURINES.get(sign, sign) for sign in moves).replace("\0", "")
    moves = re.sub(rf"(?<=[0-9O½])[{DASHES}](?=[0-9O½])", "-", moves)
    moves = re.sub(rf"(?<=[a-h][1-8])[{DASHES}](?=[a-h][1-8])", "-", moves)
    moves = re.sub(r"(?<!\S)½-½(?!\S)", "1/2-1/2", moves)
    return PASSING.sub(r"\1\2", moves)


WORD = re.compile(
    r"""(?:
      [PNBKRQ]?[a-h]?[1-8]?[-x]?[a-h][1-8](?:=?[NBRQ])?[+\#]*
    | [a-h][1-8]-?[a-h][18][nbrq][+\#]*
    | (?:O-O(?:-O)?|0-0(?:-0)?)[+\#]*
    )[!?]*$""",
    re.VERBOSE,
)
WORDS = re.compile(r"[^\s{};()]+")


def check_words(text: str) -> str:
    """The text without words behind the result that are not moves. Raises Skipped where the main
    line holds anything else that is not a move, number, mark or result.

    python-chess passes over such words.
    """
    depth = 0
    ended = False
    position = 0
    kept = []
    while position < len(text):
        char = text[position]
        end = position + 1
        if char == "{":
            end = text.find("}", position) + 1
            if not end:
                raise Skipped("unclosed comment")
        elif char == ";":
            close = text.find("\n", position)
            end = len(text) if close < 0 else close + 1
        elif char in "()":
            depth += 1 if char == "(" else -1
            if depth < 0 and not ended:
                raise Skipped("unreadable token")
            if depth < 0:
                depth, position = 0, end
                continue
        elif not char.isspace():
            match = WORDS.match(text, position)
            if match is None:
                raise Skipped("unreadable token")
            end = match.end()
            if not depth:
                what = kind_of(match[0])
                if ended and what == "other":
                    position = end
                    continue
                if what == "other" or ended and what == "move":
                    raise Skipped("unreadable token")
                ended |= what == "result"
        kept.append(text[position:end])
        position = end
    if depth:
        raise Skipped("unreadable token")
    return "".join(kept)


def kind_of(word: str) -> str:
    """What a word of the main line is: result, mark, move or other."""
    if word in RESULTS:
        return "result"
    if word in ("--", "Z0", "0000", "@@@@"):
        raise Skipped("null move")
    word = re.sub(r"^[0-9]+\.+|^\.+", "", word)
    if word == "" or re.fullmatch(r"[0-9]+|\$[0-9]+|[!?]+", word):
        return "mark"
    return "move" if WORD.match(word) else "other"


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
    tags, text, unread = split_tags(raw.text)
    moves = moves_text(text)
    if not tags and not re.match(r"\s*(\{|[0-9]+\.|[NBKRQa-hO01*])", moves):
        raise Skipped("no game")
    variant = variant_of(tags)
    start = start_of(tags, variant)
    whole, moves = moves, check_words(moves)
    heading = f'[FEN "{start.fen(shredder=variant == "chess960")}"]\n[SetUp "1"]\n'
    if variant == "chess960":
        heading += '[Variant "Chess960"]\n'
    reader = Reader()
    game = chess.pgn.read_game(io.StringIO(heading + "\n" + moves + "\n"), Visitor=lambda: reader)
    if game.errors:
        raise Skipped("illegal move")
    result = reader.token
    if result is None:
        tag = standard_signs(tags.get("Result", b"").decode("utf-8", "replace"))
        result = tag if tag in RESULTS else "*"
    nodes = list(game.mainline())
    return Played(tags, start, [n.move for n in nodes], [n.comment for n in nodes], result, variant,
                  unread, moves != whole)


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
