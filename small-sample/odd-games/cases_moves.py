"""Moves that cannot be, words that cannot be read, special moves, long games."""

import random

import chess

from kit import add, good, kept, plain, set_up, skip, tags

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
    plain(
        "1... c5 2. Ka6 c4 3. b6 c3 4. b7 c2 5. b8=Q c1=Q 1/2-1/2",
        fen="8/2p5/8/KP5r/8/8/6k1/8 b - - 0 1",
        event="Left alone",
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
    "A word that is not a move between moves that would all be legal without it.",
    skip(tags() + "\n1. e4 e5 2. Nf3\n§blorp Nc6 3. Bb5 a6 1-0\n\n", "unreadable token"),
    good(),
)
add(
    "junk-at-the-end.pgn",
    "A word that is not a move as the last one, before the result and without any result.",
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
    plain("1. a8=N a1=B 1/2-1/2", fen="8/P6k/8/8/8/8/p6K/8 w - - 0 1", event="Knight and bishop"),
    plain(
        "1. axb8=R+ Kg7 2. Kg2 axb1=Q *",
        fen="1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1",
        event="Rook and queen, taking",
    ),
)
add(
    "promotion-without-sign.pgn",
    "The new piece right behind the square.",
    set_up(
        "1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1",
        "1. axb8Q+ Kg7 2. Kg2 a1N 3. Qe5+ 1-0",
        "axb8=Q+ Kg7 Kg2 a1=N Qe5+",
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
    plain(
        "1. e4 Nf6 2. e5 d5 3. exd6 Nc6 4. d4 Ne4 5. f3 Nf6 6. dxc7 Nd7 7. d5 Nf6 8. a3 Ne5 9. a4 Ng6 10. a5 b5 11. axb6 *",
    ),
    plain("1. a3 d5 2. a4 d4 3. e4 dxe3 4. Nf3 exf2+ 5. Kxf2 *", event="Black takes"),
)
add(
    "double-check.pgn",
    "A double check: only the king may move, whatever could take either checker.",
    plain("1. Nf6+ Kf7 2. Nd5 Qxd5 *", fen="4k3/1q6/8/8/4N3/8/4R3/4K3 w - - 0 1"),
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
    plain("1. Re6 Rd8 2. Bxa5 Rd1+ 3. Kxd1 *", fen="4r1k1/8/8/b7/8/8/3BR3/4K3 w - - 0 1"),
)
add(
    "checkmate.pgn",
    "The shortest mate.",
    plain("1. f3 e5 2. g4 Qh4# 0-1"),
)
add(
    "stalemate.pgn",
    "The side on move has no move and is not in check.",
    plain("1. Qg6 1/2-1/2", fen="7k/8/5K2/8/8/8/8/6Q1 w - - 0 1"),
)
add(
    "nothing-left-to-mate-with.pgn",
    "The last pawn goes; two kings and a bishop stay.",
    plain("1. Kxd4 Kd6 1/2-1/2", fen="8/8/4k3/8/3pB3/3K4/8/8 w - - 0 1"),
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
ll = shuffle(32768)
add(
    "too-long.pgn.gz",
    "32,768 plies of knights going out and back (one more than is kept), packed; the game after it stays.",
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
