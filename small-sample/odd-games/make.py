"""Writes the odd games and expected.json from one list, so that what is in a file and what
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
import random
import sys

import chess
import chess.pgn

OUT = pathlib.Path(__file__).resolve().parent
MARK = "§"  # stands before the offending place of a skipped game; not written
FILES = []


def as_bytes(text):
    return text if isinstance(text, bytes) else text.encode("utf-8")


class Segment:
    """A stretch of a file: one game, or text that is none (`verdict` None)."""

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


# ================= moves that cannot be
add(
    "illegal-move.pgn",
    "The third move of White cannot be played; the games around it stay.",
    good(1),
    skip(tags() + "\n1. e4 e5 2. Nf3 Nc6\n3. §Ke3 Nf6\n4. Nc3 1-0\n\n", "illegal move"),
    good(3),
)
add(
    "illegal-last-move.pgn",
    "Only the very last move is illegal.",
    skip(tags(result="0-1") + "\n1. f3 e5 2. g4 §Qh5# 0-1\n\n", "illegal move"),
    good(),
)
add(
    "illegal-castling.pgn",
    "Castling through an attacked square, and castling after the king has moved and come back.",
    skip(
        tags(event="Through an attacked square", result="*")
        + "\n1. e4 b6 2. Nf3 Ba6 3. g3 Nc6 4. Bh3 e6\n5. §O-O *\n\n",
        "illegal move",
    ),
    skip(
        tags(event="After the king has moved", result="*")
        + "\n1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. Ke2 Nf6 5. Ke1 d6\n6. §O-O *\n\n",
        "illegal move",
    ),
)
add(
    "illegal-king-capture.pgn",
    "White leaves the king en prise and Black takes it: already leaving it is illegal.",
    skip(tags(result="0-1") + "\n1. e4 e5 2. f4 Qh4+\n3. §Nf3 Qxe1 0-1\n\n", "illegal move"),
)
add(
    "illegal-pinned-move.pgn",
    "A pinned knight moves away all the same.",
    skip(tags(result="*") + "\n1. d4 e6 2. Nc3 Bb4 3. a3 Nf6\n4. §Nd5 *\n\n", "illegal move"),
)
add(
    "en-passant-exposes-king.pgn",
    "Taking in passing would clear the row between the own king and a rook: once it is left alone, once played.",
    kept(
        tags(
            event="Left alone", result="1/2-1/2", SetUp="1", FEN="8/2p5/8/KP5r/8/8/6k1/8 b - - 0 1"
        )
        + "\n1... c5 2. Ka6 c4 3. b6 c3 4. b7 c2 5. b8=Q c1=Q 1/2-1/2\n\n",
        "c5 Ka6 c4 b6 c3 b7 c2 b8=Q c1=Q",
        "1/2-1/2",
        fen="8/2p5/8/KP5r/8/8/6k1/8 b - - 0 1",
    ),
    skip(
        tags(event="Played", result="*", SetUp="1", FEN="8/2p5/8/KP5r/8/8/6k1/8 b - - 0 1")
        + "\n1... c5\n2. §bxc6 *\n\n",
        "illegal move",
    ),
)
# ================= words that cannot be read
add(
    "junk-in-the-middle.pgn",
    "A word that is no move between moves that would all be legal without it.",
    skip(tags() + "\n1. e4 e5 2. Nf3\n§blorp Nc6 3. Bb5 a6 1-0\n\n", "unreadable token"),
    good(),
)
add(
    "junk-at-the-end.pgn",
    "A word that is no move as the last one, before the result and without any result.",
    skip(
        tags(event="Before the result") + "\n1. e4 e5 2. Nf3 Nc6 3. Bb5\n§zork 1-0\n\n",
        "unreadable token",
    ),
    skip(
        tags(event="Without a result") + "\n1. e4 e5 2. Nf3 Nc6 3. Bb5\n§zork\n\n",
        "unreadable token",
    ),
    good(3),
)
add(
    "junk-at-the-end-of-file.pgn",
    "The same at the end of the file, without a line end.",
    good(1),
    skip(tags() + "\n1. e4 e5 2. Nf3 Nc6\n3. Bb5 §zork", "unreadable token"),
)
add(
    "unreadable-move.pgn",
    "Looks like a move, but there is no such square.",
    skip(tags() + "\n1. e4 e5\n2. §Nf9 Nc6 1-0\n\n", "unreadable token"),
    skip(tags() + "\n1. e4 e5 2. Nf3\n§Nj6 1-0\n\n", "unreadable token"),
    good(3),
)
add(
    "wrong-case.pgn",
    "A knight in small letters, and a square in capitals.",
    skip(tags() + "\n1. e4 e5\n2. §nf3 Nc6 1-0\n\n", "unreadable token"),
    skip(tags() + "\n1. §E4 e5 1-0\n\n", "unreadable token"),
    good(3),
)
add(
    "ambiguous-move.pgn",
    "Two knights can go to d2 and the game does not say which; next to it one where it does, and one where a pin decides.",
    skip(tags(event="Not said") + "\n1. Nf3 d5 2. d3 Nf6\n3. §Nd2 e5 1-0\n\n", "ambiguous move"),
    kept(
        tags(event="Said") + "\n1. Nf3 d5 2. d3 Nf6 3. Nbd2 e5 1-0\n\n",
        "Nf3 d5 d3 Nf6 Nbd2 e5",
        "1-0",
        event="Said",
    ),
    kept(
        tags(event="A pin decides", result="*")
        + "\n1. d4 e6 2. Nc3 Bb4 3. e4 Nf6 4. Ne2 O-O *\n\n",
        "d4 e6 Nc3 Bb4 e4 Nf6 Ne2 O-O",
        "*",
        event="A pin decides",
    ),
)
add(
    "said-too-much.pgn",
    "The move says more than it need: file, row, both.",
    kept(tags() + "\n1. Ngf3 N8f6 2. Nb1c3 Nb8c6 1-0\n\n", "Nf3 Nf6 Nc3 Nc6", "1-0"),
)
add(
    "wrong-check-sign.pgn",
    "A check sign where there is no check, and none where there is: signs decide nothing.",
    kept(tags() + "\n1. e4+ f5 2. Qh5 g6# 3. Qe2 Nc6 1-0\n\n", "e4 f5 Qh5 g6 Qe2 Nc6", "1-0"),
)
add(
    "null-move.pgn",
    "A passed turn in the game; and one inside a variation, which is passed over.",
    skip(tags(event="In the game") + "\n1. e4 e5 2. Nf3\n§-- 3. Nxe5 1-0\n\n", "null move"),
    kept(
        tags(event="In a variation") + "\n1. e4 e5 2. Nf3 (2. f4 -- 3. fxe5) 2... Nc6 1-0\n\n",
        "e4 e5 Nf3 Nc6",
        "1-0",
        event="In a variation",
    ),
)
add(
    "castling-with-zeros.pgn",
    "Castling both ways, written with zeros.",
    kept(
        tags(result="0-1")
        + "\n1. e4 e5 2. Nf3 Nc6 3. Bc4 d6 4. 0-0 Be6 5. Bb3 Qd7 6. d3 0-0-0 0-1\n\n",
        "e4 e5 Nf3 Nc6 Bc4 d6 O-O Be6 Bb3 Qd7 d3 O-O-O",
        "0-1",
    ),
)
add(
    "numbers-odd.pgn",
    "Move numbers stuck to moves, without dots, repeated, wrong or missing: they decide nothing.",
    kept(
        tags() + "\n1.e4 e5 2.Nf3 2... Nc6 17 Bb5 a6 Ba4 4...Nf6 5. O-O ... Be7 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6 Ba4 Nf6 O-O Be7",
        "1-0",
    ),
)
add(
    "white-space.pgn",
    "Tabs, runs of blanks and one move a line.",
    kept(
        tags() + "\n1.\te4\t\te5\n2.   Nf3\n\tNc6   \n3.\nBb5\na6\t1-0   \n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6",
        "1-0",
    ),
)
# ================= special moves
add(
    "promotions.pgn",
    "A pawn becomes each of the four pieces, by stepping and by taking.",
    kept(
        tags(
            event="Knight and bishop",
            result="1/2-1/2",
            SetUp="1",
            FEN="8/P6k/8/8/8/8/p6K/8 w - - 0 1",
        )
        + "\n1. a8=N a1=B 1/2-1/2\n\n",
        "a8=N a1=B",
        "1/2-1/2",
        fen="8/P6k/8/8/8/8/p6K/8 w - - 0 1",
    ),
    kept(
        tags(
            event="Rook and queen, taking",
            result="*",
            SetUp="1",
            FEN="1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1",
        )
        + "\n1. axb8=R+ Kg7 2. Kg2 axb1=Q *\n\n",
        "axb8=R+ Kg7 Kg2 axb1=Q",
        "*",
        fen="1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1",
    ),
)
add(
    "promotion-without-sign.pgn",
    "The new piece right behind the square.",
    kept(
        tags(result="1-0", SetUp="1", FEN="1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1")
        + "\n1. axb8Q+ Kg7 2. Kg2 a1N 3. Qe5+ 1-0\n\n",
        "axb8=Q+ Kg7 Kg2 a1=N Qe5+",
        "1-0",
        fen="1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1",
    ),
)
add(
    "promotion-to-nothing.pgn",
    "A pawn reaches the last row and the game does not say what it becomes.",
    skip(
        tags(result="1-0", SetUp="1", FEN="7k/P7/8/8/8/8/8/7K w - - 0 1") + "\n1. §a8 1-0\n\n",
        "illegal move",
    ),
)
add(
    "en-passant.pgn",
    "Both sides take in passing.",
    kept(
        tags(result="*")
        + "\n1. e4 Nf6 2. e5 d5 3. exd6 Nc6 4. d4 Ne4 5. f3 Nf6 6. dxc7 Nd7 7. d5 Nf6 8. a3 Ne5 9. a4 Ng6 10. a5 b5 11. axb6 *\n\n",
        "e4 Nf6 e5 d5 exd6 Nc6 d4 Ne4 f3 Nf6 dxc7 Nd7 d5 Nf6 a3 Ne5 a4 Ng6 a5 b5 axb6",
        "*",
    ),
    kept(
        tags(event="Black takes", result="*")
        + "\n1. a3 d5 2. a4 d4 3. e4 dxe3 4. Nf3 exf2+ 5. Kxf2 *\n\n",
        "a3 d5 a4 d4 e4 dxe3 Nf3 exf2+ Kxf2",
        "*",
    ),
)
add(
    "double-check.pgn",
    "A double check: only the king may move, whatever could take either checker.",
    kept(
        tags(result="*", SetUp="1", FEN="4k3/1q6/8/8/4N3/8/4R3/4K3 w - - 0 1")
        + "\n1. Nf6+ Kf7 2. Nd5 Qxd5 *\n\n",
        "Nf6+ Kf7 Nd5 Qxd5",
        "*",
        fen="4k3/1q6/8/8/4N3/8/4R3/4K3 w - - 0 1",
    ),
    skip(
        tags(
            event="Taking one checker is not enough",
            result="*",
            SetUp="1",
            FEN="4k3/1q4p1/8/8/4N3/8/4R3/4K3 w - - 0 1",
        )
        + "\n1. Nf6+\n§gxf6 *\n\n",
        "illegal move",
    ),
)
add(
    "pins.pgn",
    "Pinned pieces: a rook moves along its pin, a bishop takes the pinner.",
    kept(
        tags(result="*", SetUp="1", FEN="4r1k1/8/8/b7/8/8/3BR3/4K3 w - - 0 1")
        + "\n1. Re6 Rd8 2. Bxa5 Rd1+ 3. Kxd1 *\n\n",
        "Re6 Rd8 Bxa5 Rd1+ Kxd1",
        "*",
        fen="4r1k1/8/8/b7/8/8/3BR3/4K3 w - - 0 1",
    ),
)
add(
    "checkmate.pgn",
    "The shortest mate.",
    kept(tags(result="0-1") + "\n1. f3 e5 2. g4 Qh4# 0-1\n\n", "f3 e5 g4 Qh4#", "0-1"),
)
add(
    "stalemate.pgn",
    "The side on move has no move and is not in check.",
    kept(
        tags(result="1/2-1/2", SetUp="1", FEN="7k/8/5K2/8/8/8/8/6Q1 w - - 0 1")
        + "\n1. Qg6 1/2-1/2\n\n",
        "Qg6",
        "1/2-1/2",
        fen="7k/8/5K2/8/8/8/8/6Q1 w - - 0 1",
    ),
)
add(
    "nothing-left-to-mate-with.pgn",
    "The last pawn goes; two kings and a bishop stay.",
    kept(
        tags(result="1/2-1/2", SetUp="1", FEN="8/8/4k3/8/3pB3/3K4/8/8 w - - 0 1")
        + "\n1. Kxd4 Kd6 1/2-1/2\n\n",
        "Kxd4 Kd6",
        "1/2-1/2",
        fen="8/8/4k3/8/3pB3/3K4/8/8 w - - 0 1",
    ),
)
add(
    "moves-after-stalemate.pgn",
    "The game goes on although the position is stalemate.",
    skip(
        tags(result="1-0", SetUp="1", FEN="7k/8/5K2/8/8/8/8/6Q1 w - - 0 1")
        + "\n1. Qg6\n1... §Kh7 1-0\n\n",
        "illegal move",
    ),
)


# shuffling: knights and rooks wander; a capture nowhere
def shuffle(n):
    cyc = ["Nf3", "Nf6", "Ng1", "Ng8"]
    return [cyc[i % 4] for i in range(n)]


def movetext(ms, width=76):
    words = []
    for i, m in enumerate(ms):
        if i % 2 == 0:
            words.append(f"{i//2+1}.")
        words.append(m)
    lines = []
    cur = ""
    for w in words:
        if len(cur) + 1 + len(w) > width:
            lines.append(cur)
            cur = w
        else:
            cur = (cur + " " + w) if cur else w
    lines.append(cur)
    return "\n".join(lines)


def wander(plies, seed):
    r = random.Random(seed)
    bd = chess.Board()
    out = []
    while len(out) < plies:
        ms = [
            m
            for m in bd.legal_moves
            if not bd.is_capture(m)
            and bd.piece_type_at(m.from_square) != chess.PAWN
            or (
                len(out) < 30
                and bd.piece_type_at(m.from_square) == chess.PAWN
                and not bd.is_capture(m)
                and chess.square_rank(m.to_square) in (2, 5)
            )
        ]
        ms = [m for m in ms if not bd.gives_check(m)]
        m = r.choice(sorted(ms, key=lambda x: x.uci()))
        out.append(bd.san(m))
        bd.push(m)
    return out


w = wander(640, 4)
add(
    "long-game.pgn",
    "640 plies of wandering to and fro.",
    kept(tags(result="1/2-1/2") + "\n" + movetext(w) + " 1/2-1/2\n\n", " ".join(w), "1/2-1/2"),
)
ll = shuffle(65536)
add(
    "too-long.pgn.gz",
    "65,536 plies of knights going out and back (one more than is kept), packed; the game after it stays.",
    skip(tags(result="1/2-1/2") + "\n" + movetext(ll) + " 1/2-1/2\n\n", "too long"),
    good(2),
    packed=True,
)
add(
    "twice.pgn",
    "The same game twice: both are read; they have one moves id and one game id.",
    good(1, result="1-0"),
    good(1, result="1-0"),
)
# ================= comments, variations, marks
add(
    "unclosed-comment.pgn",
    "A comment that is never closed; the next game is not swallowed.",
    skip(
        tags() + "\n1. e4 e5 2. Nf3\n§{ and now it goes on\nand on Nc6 3. Bb5 1-0\n\n",
        "unclosed comment",
    ),
    good(),
)
add(
    "unclosed-comment-at-the-end.pgn",
    "The same in the last game of the file.",
    good(1),
    skip(tags() + "\n1. e4 e5 2. Nf3 Nc6 §{ so far it is", "unclosed comment"),
)
add(
    "unclosed-variation.pgn",
    "A variation that is never closed; the next game is not swallowed.",
    skip(tags() + "\n1. e4 e5\n2. Nf3 §(2. f4 exf4 3. Nf3 Nc6 1-0\n\n", "unreadable token"),
    good(),
)
add(
    "closed-too-often.pgn",
    "A closing bracket without an opening one: nobody can say where the variation began.",
    skip(tags() + "\n1. e4 e5 2. Nf3 Nc6\n3. Bb5 a6 §) 4. Ba4 Nf6 1-0\n\n", "unreadable token"),
    good(),
)
add(
    "nested-variations.pgn",
    "Variations within variations, with comments that hold brackets, and a variation after the last move.",
    kept(
        tags()
        + "\n1. e4 (1. d4 d5 (1... Nf6 2. c4 { the (main) road (2. Nf3 } (2. Bg5)) 2. c4) 1... e5\n2. Nf3 Nc6 ( 2... d6 $1 { also :-) } ) ( 2... Nf6 )\n3. Bb5 (3. Bc4 Bc5) 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bb5",
        "1-0",
    ),
)
add(
    "broken-variation.pgn",
    "What stands in a variation is passed over, even an illegal move and a stray word.",
    kept(
        tags() + "\n1. e4 (1. e5 Qh9 whatever) 1... e5 2. Nf3 Nc6 1-0\n\n", "e4 e5 Nf3 Nc6", "1-0"
    ),
)
add(
    "comments-odd.pgn",
    "Comments that hold an opening brace, semicolons, results, numbers and moves; comments to the end of the line; an empty one; one before the first move and one after the result.",
    kept(
        tags()
        + '\n{ Before the first move; 1. d4 1-0 } 1. e4 { one { more ; and 0-1 } e5 ; to the end of the line { ( 2. d4 1-0\n2. Nf3 {} Nc6 {\n[%clk\n0:10:00] at a line start: [no tag] "quoted" } 3. Bb5 a6 1-0 { After the result. }\n\n',
        "e4 e5 Nf3 Nc6 Bb5 a6",
        "1-0",
        clocks=1,
    ),
)
add(
    "escaped-lines.pgn",
    "Lines that begin with % are left out, before, between and within games.",
    raw("% written by hand\n"),
    kept(
        tags() + '\n1. e4 e5\n% not a move: Qh9 { ( "\n2. Nf3 Nc6 1-0\n\n% between the games\n',
        "e4 e5 Nf3 Nc6",
        "1-0",
    ),
    good(),
)
add(
    "marks.pgn",
    "Marks as numbers and as signs, alone and behind moves, several at once.",
    kept(
        tags() + "\n1. e4! $1 e5?? 2. Nf3 $14 $146 Nc6!? 3. Bb5 ?! a6 $2 $0 4. Ba4? Nf6 !! 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6 Ba4 Nf6",
        "1-0",
    ),
)
add(
    "clocks.pgn",
    "Clock comments: alone, with words, with tenths, on some moves only; one that cannot be read counts for nothing.",
    kept(
        tags(TimeControl="600+5")
        + "\n1. e4 {[%clk 0:10:04]} e5 { [%clk 0:09:58.7] } 2. Nf3 { thinks [%clk 0:08:00] a lot } Nc6\n3. Bb5 {[%clk soon]} a6 {[%eval 0.25] [%clk 0:00:00]} 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6",
        "1-0",
        clocks=4,
        evals=1,
    ),
)
add(
    "evals.pgn",
    "Evaluation comments: pawns, minus, mates for either side.",
    kept(
        tags(result="*")
        + "\n1. e4 {[%eval 0.3]} f6 {[%eval 1.05]} 2. d4 {[%eval 0]} g5 {[%eval #1]} 3. a3 {[%eval -0.15] [%clk 0:01:00]} Kf7 {[%eval #-3]} *\n\n",
        "e4 f6 d4 g5 a3 Kf7",
        "*",
        clocks=1,
        evals=6,
    ),
)
# ================= results
add("result-open.pgn", "Not finished: *", kept(tags(result="*") + "\n1. e4 e5 *\n\n", "e4 e5", "*"))
t7 = tags(result="1-0")
no_res = t7.replace('[Result "1-0"]\n', "")
add(
    "result-tag-missing.pgn",
    "No Result tag: the result stands behind the moves.",
    kept(no_res + "\n1. e4 e5 0-1\n\n", "e4 e5", "0-1"),
)
add(
    "result-differs.pgn",
    "The Result tag says one thing, the end of the moves another: the moves are right.",
    kept(tags(result="1-0") + "\n1. e4 e5 1/2-1/2\n\n", "e4 e5", "1/2-1/2"),
    good(),
)
add(
    "result-token-missing.pgn",
    "Nothing behind the moves: the Result tag is taken; another game without either.",
    kept(tags(result="0-1") + "\n1. e4 e5 2. Nf3 Nc6\n\n", "e4 e5 Nf3 Nc6", "0-1"),
    kept(
        no_res.replace("Odd games", "No result at all") + "\n1. e4 e5 2. Nf3\n\n",
        "e4 e5 Nf3",
        "*",
        event="No result at all",
    ),
)
add(
    "moves-after-result.pgn",
    "Moves go on after the result.",
    skip(tags() + "\n1. e4 e5 2. Nf3 Nc6 1-0\n§3. Bb5 a6\n\n", "unreadable token"),
    good(),
)
add(
    "comment-after-result.pgn",
    "A comment after the result belongs to the game.",
    kept(tags() + "\n1. e4 e5 1-0 { Black was called away. }\n\n", "e4 e5", "1-0"),
    good(),
)
add(
    "no-moves.pgn",
    "Two games without a move, one with its result behind the tags, one with tags alone; a game with moves follows.",
    kept(tags(result="1-0", Termination="abandoned") + "\n1-0\n\n", "", "1-0"),
    kept(tags(event="Tags alone", result="0-1") + "\n", "", "0-1", event="Tags alone"),
    good(3),
)
add(
    "tags-alone-at-the-end.pgn",
    "The last game has tags and nothing else, not even a line end.",
    good(1),
    kept(
        tags(event="Tags alone", result="1/2-1/2").rstrip("\n"), "", "1/2-1/2", event="Tags alone"
    ),
)
# ================= tags
add(
    "no-tags.pgn",
    "Moves without any tags.",
    kept("1. e4 e5 2. Nf3 Nc6 0-1\n", "e4 e5 Nf3 Nc6", "0-1", white=None, event=None),
)
add(
    "event-tag-missing.pgn",
    "Games that begin with another tag than Event.",
    kept(tags().split("\n", 1)[1] + "\n1. e4 e5 1-0\n\n", "e4 e5", "1-0", event=None),
    kept(
        '[White "Sedge, Ida"]\n[Black "Burdock, Ulf"]\n\n1. d4 d5 0-1\n\n',
        "d4 d5",
        "0-1",
        event=None,
        white="Sedge, Ida",
    ),
)
add(
    "tag-twice.pgn",
    "The White tag comes twice; the first one counts.",
    kept(
        tags().replace("[Black", '[White "Second, Thea"]\n[Black') + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        white="Cobble, Nan",
    ),
)
add(
    "tag-escapes.pgn",
    "Quotes and backslashes in a tag, escaped.",
    kept(
        tags(white='Cobble, \\"Nan\\" \\\\ Sons') + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        white='Cobble, "Nan" \\ Sons',
    ),
)
add(
    "tag-values-odd.pgn",
    "Tag values that are empty, ?, or hold brackets and braces.",
    kept(
        '[Event "Round [2] {late} ; % (x)"]\n[Site ""]\n[Date "????.??.??"]\n[Round "?"]\n[White "?"]\n[Black "Thistle, Jo"]\n[Result "1-0"]\n[WhiteElo "?"]\n[BlackElo "1,500"]\n\n1. e4 e5 1-0\n\n',
        "e4 e5",
        "1-0",
        event="Round [2] {late} ; % (x)",
        white=None,
        site=None,
    ),
)
add(
    "tag-line-of-10000-bytes.pgn",
    "A tag of which the line is 10,000 bytes long; the games after it stay.",
    kept(
        tags().replace("[Result", '[Remark "' + ("long " * 2000)[: 10000 - 11] + '"]\n[Result')
        + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        white="Cobble, Nan",
    ),
    good(),
)
add(
    "tag-not-closed.pgn",
    "A tag without its closing quote.",
    skip(
        tags().replace('[Site "Little Dray"]', '§[Site "Little Dray]') + "\n1. e4 e5 1-0\n\n",
        "unclosed tag",
    ),
    good(),
)
add(
    "two-tags-in-a-line.pgn",
    "Two tags in one line, as the standard allows for import.",
    kept(
        '[Event "Odd games"] [Site "Little Dray"]\n[White "Cobble, Nan"] [Black "Thistle, Jo"] [Result "1-0"]\n\n1. e4 e5 1-0\n\n',
        "e4 e5",
        "1-0",
        white="Cobble, Nan",
        site="Little Dray",
    ),
    good(),
)
# ================= borders
add(
    "no-blank-line-between-games.pgn",
    "No blank line between two games, nor between tags and moves.",
    kept(tags(event="One") + "1. e4 e5 1-0\n", "e4 e5", "1-0", event="One"),
    kept(tags(event="Two", result="0-1") + "1. d4 d5 0-1\n", "d4 d5", "0-1", event="Two"),
)
add(
    "blank-lines-in-the-moves.pgn",
    "Blank lines in the middle of the moves, and several before them.",
    kept(
        tags() + "\n\n\n1. e4 e5\n\n2. Nf3 Nc6\n \n\n3. Bb5 a6 1-0\n\n\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6",
        "1-0",
    ),
    good(),
)
add(
    "text-before-the-first-game.pgn",
    "A covering letter above the games.",
    skip("§Dear Ida,\nhere are the games of last night.\n\n", "no game"),
    good(2),
)
add("empty.pgn", "An empty file.")
add("blank-lines-only.pgn", "Nothing but blank lines.", raw("\n\n  \n\t\n\n"))
add("escaped-lines-only.pgn", "Nothing but escaped lines.", raw("% nothing here\n%\n"))
add(
    "text-only.pgn",
    "A file that is no archive of games at all.",
    skip("§Bring cake on Thursday.\nThe key is under the mat.\n", "no game"),
)
add(
    "cut-off-in-a-move.pgn",
    "The file ends in the middle of a move.",
    good(1),
    skip(tags() + "\n1. e4 e5 2. Nf3 Nc6\n3. Bb5 §N", "unreadable token"),
)
add(
    "cut-off-in-a-result.pgn",
    "The file ends in the middle of the result.",
    good(1),
    skip(tags(result="1/2-1/2") + "\n1. e4 e5\n2. Nf3 Nc6 §1/2-", "unreadable token"),
)
add(
    "cut-off-behind-a-number.pgn",
    "The file ends behind a move number: all moves are whole.",
    good(1),
    kept(tags(result="*") + "\n1. e4 e5 2. Nf3 Nc6 3.", "e4 e5 Nf3 Nc6", "*"),
)
add(
    "cut-off-in-a-tag.pgn",
    "The file ends in the middle of a tag.",
    good(1),
    skip('[Event "Odd games"]\n[Site "Little Dray"]\n§[White "Cob', "unclosed tag"),
)


# ================= encodings
def crlf(text):
    return text.replace("\n", "\r\n")


add(
    "line-ends-crlf.pgn",
    "Line ends of two bytes (CR LF).",
    kept(
        crlf(tags(event="One") + "\n1. e4 e5\n2. Nf3 ; to the line end\nNc6 1-0\n\n"),
        "e4 e5 Nf3 Nc6",
        "1-0",
        event="One",
    ),
    kept(crlf(tags(event="Two", result="0-1") + "\n1. d4 d5 0-1\n\n"), "d4 d5", "0-1", event="Two"),
)
add(
    "byte-order-mark.pgn",
    "A byte order mark at the start of the file.",
    kept(
        b"\xef\xbb\xbf" + as_bytes(tags() + "\n1. e4 e5 1-0\n\n"), "e4 e5", "1-0", event="Odd games"
    ),
)
add(
    "byte-order-mark-in-the-middle.pgn",
    "Two files put together, each with its byte order mark.",
    kept(
        b"\xef\xbb\xbf" + as_bytes(tags(event="One") + "\n1. e4 e5 1-0\n\n"),
        "e4 e5",
        "1-0",
        event="One",
    ),
    kept(
        b"\xef\xbb\xbf" + as_bytes(tags(event="Two", result="0-1") + "\n1. d4 d5 0-1\n\n"),
        "d4 d5",
        "0-1",
        event="Two",
    ),
)
add(
    "names-utf-8.pgn",
    "Names in UTF-8.",
    kept(
        tags(white="Ørskimmel, Thóra", black="Žďárek, Łuc") + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        white="Ørskimmel, Thóra",
        black="Žďárek, Łuc",
    ),
)
add(
    "names-latin-1.pgn",
    "Names in Latin-1: read as such, and the row says so.",
    kept(
        (tags(white="Ørskimmel, Thóra", black="Müßig, Käte") + "\n1. e4 e5 1-0\n\n").encode(
            "latin-1"
        ),
        "e4 e5",
        "1-0",
        white="Ørskimmel, Thóra",
        black="Müßig, Käte",
        repaired=True,
    ),
    good(),
)
add(
    "names-neither.pgn",
    "Bytes that are neither UTF-8 nor printable Latin-1 in names and in a comment: the row is kept.",
    kept(
        as_bytes(tags()).replace(b"Cobble, Nan", b"C\x94bbl\x8a, N\x01n\x7f")
        + b"\n1. e4 { \x80\x9d\x00 } e5 1-0\n\n",
        "e4 e5",
        "1-0",
        repaired=True,
    ),
    good(),
)
# ================= starts
S = "r3k2r/pppq1ppp/2n2n2/3pp3/3PP3/2N2N2/PPPQ1PPP/R3K2R w KQkq - 0 1"
add(
    "start-set-up.pgn",
    "A set-up start; both castle.",
    kept(
        tags(SetUp="1", FEN=S) + "\n1. O-O-O O-O 2. dxe5 dxe4 3. Qxd7 exf3 1-0\n\n",
        "O-O-O O-O dxe5 dxe4 Qxd7 exf3",
        "1-0",
        fen=S,
    ),
)
add(
    "start-black-on-move.pgn",
    "A set-up start with Black on move, late in a game.",
    kept(
        tags(result="0-1", SetUp="1", FEN="8/8/8/8/5k2/8/5p1K/8 b - - 3 61")
        + "\n61... f1=R 62. Kh3 Rg1 63. Kh4 Rh1# 0-1\n\n",
        "f1=R Kh3 Rg1 Kh4 Rh1#",
        "0-1",
        fen="8/8/8/8/5k2/8/5p1K/8 b - - 3 61",
    ),
)
add(
    "start-without-setup-tag.pgn",
    "A FEN tag without SetUp: the position is meant all the same.",
    kept(
        tags(FEN="4k3/8/8/8/8/8/4P3/4K3 w - - 0 1") + "\n1. e4 Kd7 1-0\n\n",
        "e4 Kd7",
        "1-0",
        fen="4k3/8/8/8/8/8/4P3/4K3 w - - 0 1",
    ),
)
add(
    "start-short-fen.pgn",
    "A FEN without its counters.",
    kept(
        tags(SetUp="1", FEN="4k3/8/8/8/8/8/4P3/4K3 w - -") + "\n1. e4 Kd7 1-0\n\n",
        "e4 Kd7",
        "1-0",
        fen="4k3/8/8/8/8/8/4P3/4K3 w - - 0 1",
    ),
)
add(
    "start-setup-tag-alone.pgn",
    "SetUp says there is a position, but none is given: the usual start.",
    kept(tags(SetUp="1") + "\n1. e4 e5 1-0\n\n", "e4 e5", "1-0"),
)
add(
    "start-rights-without-rooks.pgn",
    "Castling rights that cannot be (no such rooks): they are dropped, the game is kept.",
    kept(
        tags(SetUp="1", FEN="4k3/8/8/8/8/8/4P3/4K3 w KQkq - 0 1") + "\n1. e4 Kd7 1-0\n\n",
        "e4 Kd7",
        "1-0",
        fen="4k3/8/8/8/8/8/4P3/4K3 w - - 0 1",
    ),
)
add(
    "start-three-queens.pgn",
    "More pieces of a kind than promotion could give, but no more than 32 units: an odd board, yet one to play on.",
    kept(
        tags(result="*", SetUp="1", FEN="4k3/pppppppp/8/8/8/Q6Q/PPPPPPPP/3QK3 w - - 0 1")
        + "\n1. Qxa7 e6 *\n\n",
        "Qxa7 e6",
        "*",
        fen="4k3/pppppppp/8/8/8/Q6Q/PPPPPPPP/3QK3 w - - 0 1",
    ),
)


def imp(name, why, fen, reason="impossible start", mv="1. e4 e5"):
    t = tags(SetUp="1", FEN=fen).replace("[FEN", "§[FEN")
    add(name, why, skip(t + f"\n{mv} 1-0\n\n", reason), good())


imp("start-two-kings.pgn", "Two white kings.", "4k3/8/8/8/8/8/4P3/3KK3 w - - 0 1")
imp("start-no-king.pgn", "No black king.", "8/8/8/8/8/8/4P3/4K3 w - - 0 1")
imp(
    "start-side-not-on-move-in-check.pgn",
    "White is on move and could take the king.",
    "4k3/8/8/8/8/8/4R3/3K4 w - - 0 1",
    mv="1. Kd2 Kf8",
)
imp(
    "start-pawn-on-last-row.pgn",
    "A pawn on the last row.",
    "4k2P/8/8/8/8/8/8/4K3 w - - 0 1",
    mv="1. Ke2 Ke7",
)
imp(
    "start-33-units.pgn",
    "Thirty-three units.",
    "rnbqkbnr/pppppppp/8/8/8/7N/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
)
imp(
    "start-unreadable.pgn",
    "The FEN tag holds something else.",
    "somewhere in the middle game",
    "unreadable start",
)
imp(
    "start-seven-rows.pgn",
    "A FEN with seven rows.",
    "rnbqkbnr/pppppppp/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
    "unreadable start",
)
# ================= variants
add(
    "chess960.pgn",
    "Chess960, castling rights as letters: king e1 and rook f1, so that castling short moves the king to g1 and leaves the rook where it is.",
    kept(
        tags(
            result="*",
            Variant="Chess960",
            SetUp="1",
            FEN="bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w KQkq - 0 1",
        )
        + "\n1. Nf3 Nf6 2. O-O d5 3. d4 O-O *\n\n",
        "Nf3 Nf6 O-O d5 d4 O-O",
        "*",
        fen="bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w KQkq - 0 1",
        c960=True,
    ),
)
add(
    "chess960-rights-by-file.pgn",
    "Chess960, castling rights by the files of the rooks: castling long moves the king from e1 to c1 and leaves the rook on d1.",
    kept(
        tags(
            result="*",
            Variant="Chess960",
            SetUp="1",
            FEN="bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w FDfd - 0 1",
        )
        + "\n1. Nb3 Nb6 2. d4 d5 3. O-O-O O-O-O 4. f4 f5 *\n\n",
        "Nb3 Nb6 d4 d5 O-O-O O-O-O f4 f5",
        "*",
        fen="bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w FDfd - 0 1",
        c960=True,
    ),
)
G = "nrbbqnkr/pppppppp/8/8/8/8/PPPPPPPP/NRBBQNKR w KQkq - 0 1"
add(
    "chess960-king-stays.pgn",
    "Chess960: the king stands on g1 already; castling moves the rook alone. Once with O-O, once with zeros.",
    kept(
        tags(result="*", Variant="Chess960", SetUp="1", FEN=G)
        + "\n1. Ng3 Ng6 2. O-O e5 3. e4 0-0 4. d3 d6 *\n\n",
        "Ng3 Ng6 O-O e5 e4 O-O d3 d6",
        "*",
        fen=G,
        c960=True,
    ),
)
add(
    "chess960-castling-long.pgn",
    "Chess960: the king stays on c1, the rook jumps over it from b1 to d1. The variant is written in small letters.",
    kept(
        tags(
            result="*",
            Variant="chess960",
            SetUp="1",
            FEN="brknrnqb/pppppppp/8/8/8/8/PPPPPPPP/BRKNRNQB w KQkq - 0 1",
        )
        + "\n1. Nde3 Nde6 2. O-O-O O-O-O 3. d3 d6 *\n\n",
        "Nde3 Nde6 O-O-O O-O-O d3 d6",
        "*",
        fen="brknrnqb/pppppppp/8/8/8/8/PPPPPPPP/BRKNRNQB w KQkq - 0 1",
        c960=True,
    ),
)
add(
    "chess960-rook-uncovers-king.pgn",
    "Chess960: castling long would take the rook from between a rook on a1 and the king on c1: not allowed.",
    skip(
        tags(result="*", Variant="Chess960", SetUp="1", FEN="4k3/8/8/8/8/8/5P2/rRK5 w B - 0 1")
        + "\n1. f4 Ke7\n2. §O-O-O *\n\n",
        "illegal move",
    ),
    kept(
        tags(
            event="The rook on a1 is gone",
            result="*",
            Variant="Chess960",
            SetUp="1",
            FEN="4k3/8/8/8/8/8/5P2/rRK5 w B - 0 1",
        )
        + "\n1. Rxa1 Ke7 *\n\n",
        "Rxa1 Ke7",
        "*",
        fen="4k3/8/8/8/8/8/5P2/rRK5 w B - 0 1",
        c960=True,
    ),
)
add(
    "chess960-usual-start.pgn",
    "Chess960 without a FEN: the usual start is one of its 960.",
    kept(
        tags(Variant="Chess960") + "\n1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. O-O Nf6 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bc4 Bc5 O-O Nf6",
        "1-0",
        c960=True,
    ),
)
add(
    "variant-standard.pgn",
    "A Variant tag that says it is the usual game.",
    kept(tags(Variant="Standard") + "\n1. e4 e5 1-0\n\n", "e4 e5", "1-0"),
)
add(
    "variant-other.pgn",
    "Games played by other rules: left out; the game after them stays.",
    skip(
        tags(result="0-1").replace("[Result", '§[Variant "Antichess"]\n[Result')
        + "\n1. e3 b6 2. Bb5 a6 3. Bxd7 Qxd7 0-1\n\n",
        "variant",
    ),
    skip(
        tags(result="1-0").replace("[Result", '§[Variant "Crazyhouse"]\n[Result')
        + "\n1. e4 d5 2. exd5 Qxd5 3. Nc3 Qd8 4. P@e6 1-0\n\n",
        "variant",
    ),
    good(3),
)


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
    logging.disable(logging.CRITICAL)  # python-chess tells each error it meets
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
