"""Start positions and rules of other games."""

from kit import add, good, kept, plain, set_up, skip, tags

# ================= starts
S = "r3k2r/pppq1ppp/2n2n2/3pp3/3PP3/2N2N2/PPPQ1PPP/R3K2R w KQkq - 0 1"
add(
    "start-set-up.pgn",
    "A set-up start; both castle.",
    set_up(S, "1. O-O-O O-O 2. dxe5 dxe4 3. Qxd7 exf3 1-0", "O-O-O O-O dxe5 dxe4 Qxd7 exf3"),
)
add(
    "start-black-on-move.pgn",
    "A set-up start with Black on move, late in a game.",
    plain("61... f1=R 62. Kh3 Rg1 63. Kh4 Rh1# 0-1", fen="8/8/8/8/5k2/8/5p1K/8 b - - 3 61"),
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
    set_up("4k3/8/8/8/8/8/4P3/4K3 w - -", "1. e4 Kd7 1-0", "e4 Kd7", start="4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"),
)
add(
    "start-setup-tag-alone.pgn",
    "SetUp says there is a position, but none is given: the usual start.",
    kept(tags(SetUp="1") + "\n1. e4 e5 1-0\n\n", "e4 e5", "1-0"),
)
add(
    "start-rights-without-rooks.pgn",
    "Castling rights that cannot be (no such rooks): they are dropped, the game is kept.",
    set_up(
        "4k3/8/8/8/8/8/4P3/4K3 w KQkq - 0 1",
        "1. e4 Kd7 1-0",
        "e4 Kd7",
        start="4k3/8/8/8/8/8/4P3/4K3 w - - 0 1",
    ),
)
add(
    "start-three-queens.pgn",
    "More pieces of a kind than promotion could give, but no more than 32 units: an odd board, yet one to play on.",
    plain("1. Qxa7 e6 *", fen="4k3/pppppppp/8/8/8/Q6Q/PPPPPPPP/3QK3 w - - 0 1"),
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
    set_up(
        "bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w KQkq - 0 1",
        "1. Nf3 Nf6 2. O-O d5 3. d4 O-O *",
        "Nf3 Nf6 O-O d5 d4 O-O",
        Variant="Chess960",
    ),
)
add(
    "chess960-rights-by-file.pgn",
    "Chess960, castling rights by the files of the rooks: castling long moves the king from e1 to c1 and leaves the rook on d1.",
    set_up(
        "bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w FDfd - 0 1",
        "1. Nb3 Nb6 2. d4 d5 3. O-O-O O-O-O 4. f4 f5 *",
        "Nb3 Nb6 d4 d5 O-O-O O-O-O f4 f5",
        Variant="Chess960",
    ),
)
G = "nrbbqnkr/pppppppp/8/8/8/8/PPPPPPPP/NRBBQNKR w KQkq - 0 1"
add(
    "chess960-king-stays.pgn",
    "Chess960: the king stands on g1 already; castling moves the rook alone. Once with O-O, once with zeros.",
    set_up(G, "1. Ng3 Ng6 2. O-O e5 3. e4 0-0 4. d3 d6 *", "Ng3 Ng6 O-O e5 e4 O-O d3 d6", Variant="Chess960"),
)
add(
    "chess960-castling-long.pgn",
    "Chess960: the king stays on c1, the rook jumps over it from b1 to d1. The variant is written in small letters.",
    set_up(
        "brknrnqb/pppppppp/8/8/8/8/PPPPPPPP/BRKNRNQB w KQkq - 0 1",
        "1. Nde3 Nde6 2. O-O-O O-O-O 3. d3 d6 *",
        "Nde3 Nde6 O-O-O O-O-O d3 d6",
        Variant="chess960",
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
    set_up(
        "4k3/8/8/8/8/8/5P2/rRK5 w B - 0 1",
        "1. Rxa1 Ke7 *",
        "Rxa1 Ke7",
        event="The rook on a1 is gone",
        Variant="Chess960",
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
    plain("1. e4 e5 1-0", Variant="Standard"),
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
