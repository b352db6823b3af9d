"""Text as archives of the wild hold it: other notations, tag lines that cannot be read, words
behind a result, NUL bytes."""

from kit import add, as_bytes, good, kept, raw, set_up, skip, tags

add(
    "nul-bytes.pgn",
    "NUL bytes, with which a file was filled up: they are blanks, and the last game stays.",
    kept(
        as_bytes(tags(event="One") + "\n1. e4 e5").replace(b" e5", b"\x00e5") + b" 1-0\n\n",
        "e4 e5",
        "1-0",
        event="One",
    ),
    raw(b"\x00\x00"),
    kept(
        as_bytes(tags(event="Two", result="0-1") + "\n1. d4 d5 0-1\n") + b"\x00" * 300,
        "d4 d5",
        "0-1",
        event="Two",
    ),
)
add(
    "nul-bytes-only.pgn",
    "Nothing but NUL bytes.",
    raw(b"\x00" * 64),
)
add(
    "tags-after-blanks.pgn",
    "Blanks and tabs before the tags.",
    kept(
        "".join(f"  {line}\n" for line in tags(event="One").splitlines()) + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        event="One",
        white="Cobble, Nan",
    ),
    kept(
        "".join(f"\t{line}\n" for line in tags(event="Two", result="0-1").splitlines())
        + "1. d4 d5 0-1\n",
        "d4 d5",
        "0-1",
        event="Two",
    ),
    good(3),
)
add(
    "tag-not-closed.pgn",
    "A tag without its closing quote: it is passed over.",
    kept(
        tags().replace('[Site "Little Dray"]', '[Site "Little Dray]') + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        site=None,
        white="Cobble, Nan",
        unread_tags=1,
    ),
    good(),
)
add(
    "tag-without-quotes.pgn",
    "Tags without quotes, without a value, and without a name, in the middle of the tags and as the first of a game: they are passed over and split nothing.",
    kept(
        tags().replace('[Site "Little Dray"]', "[Site Little Dray]\n[Board]\n[]")
        + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        event="Odd games",
        site=None,
        white="Cobble, Nan",
        unread_tags=3,
    ),
    kept(
        tags(result="0-1").replace('"Odd games"', "Odd games") + "\n1. d4 d5 0-1\n\n",
        "d4 d5",
        "0-1",
        event=None,
        white="Cobble, Nan",
        unread_tags=1,
    ),
    good(3),
)
add(
    "tag-over-two-lines.pgn",
    "A value that goes on in the next line: the tag is passed over, and what follows belongs to the same game.",
    kept(
        tags(event="In one line").replace("Little Dray", "Little\nDray") + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        event="In one line",
        site=None,
        white="Cobble, Nan",
        unread_tags=1,
    ),
    good(),
)
add(
    "tag-fen-not-closed.pgn",
    "A start position or the rules that cannot be read: the game could be any, so it is left out.",
    skip(
        tags().replace("[Result", '§[FEN "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1]\n[Result')
        + "\n1. e4 Kd7 1-0\n\n",
        "unclosed tag",
    ),
    skip(
        tags().replace("[Result", "§[Variant Atomic]\n[Result") + "\n1. e4 e5 1-0\n\n",
        "unclosed tag",
    ),
    good(3),
)
add(
    "tag-with-moves-in-its-value.pgn",
    "A quote that is not escaped, with a move behind it: the tag is passed over.",
    kept(
        tags(event='the " e4 " game') + "\n1. e4 e5 1-0\n\n",
        "e4 e5",
        "1-0",
        event=None,
        white="Cobble, Nan",
        unread_tags=1,
    ),
    good(),
)
add(
    "stray-text.pgn",
    "Words between a result and the next tags: they belong to no game, and cost none. Before the result they do.",
    kept(
        tags(event="One") + "\n1. e4 e5 1-0\n\nFrom the bulletin of the club, page 12.\n\n",
        "e4 e5",
        "1-0",
        event="One",
        stray_text=True,
    ),
    kept(
        tags(event="Two", result="0-1") + "\n1. d4 d5 0-1 resigns) [see below]\n\n",
        "d4 d5",
        "0-1",
        event="Two",
        stray_text=True,
    ),
    skip(tags(result="0-1") + "\n1. d4 d5 §resigns 0-1\n\n", "unreadable token"),
    good(4),
)
add(
    "en-passant-signs.pgn",
    "Signs behind a capture in passing: apart and attached, with and without dots, with a check.",
    kept(
        tags(result="*")
        + "\n1. e4 Nf6 2. e5 d5 3. exd6 e.p. Nc6 4. a4 h5 5. a5 b5 6. axb6ep h4 7. g4 hxg3 ep 8. Nh3 *\n\n",
        "e4 Nf6 e5 d5 exd6 Nc6 a4 h5 a5 b5 axb6 h4 g4 hxg3 Nh3",
        "*",
    ),
    set_up(
        "8/2p5/8/1P6/k7/8/8/R3K3 b - - 0 1",
        "1... Kb3 2. Rb1+ Kc4 3. Ke2 c5 4. bxc6e.p.! *",
        "Kb3 Rb1+ Kc4 Ke2 c5 bxc6",
        event="With a mark",
    ),
    skip(tags(event="Elsewhere") + "\n1. e4 d5 2. exd5 §ep Qxd5 1-0\n\n", "unreadable token"),
)
add(
    "figurines.pgn",
    "Figurine letters, of either colour, one with the sign that asks for a picture.",
    kept(
        tags() + "\n1. ♙e4 ♟e5 2.♘f3 ♞c6 3. ♗\ufe0eb5 a6 4. ♝xc6 dxc6 5. O-O ♛d4 6. ♔h1 ♕xe4 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6 Bxc6 dxc6 O-O Qd4 Kh1 Qxe4",
        "1-0",
    ),
    skip(tags(event="No such move") + "\n1. e4 e5 2. ♘f3 §♞d4 1-0\n\n", "illegal move"),
    good(3),
)
add(
    "typographic-dashes.pgn",
    "Results and castling with dashes of printers, in UTF-8 and in code page 1252; in the tag too.",
    kept(
        tags(event="En dash", result="1–0") + "\n1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. O–O Nf6 1–0\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6 O-O Nf6",
        "1-0",
        event="En dash",
    ),
    kept(tags(event="Minus sign") + "\n1. e4 e5 0\u22121\n\n", "e4 e5", "0-1", event="Minus sign"),
    kept(
        tags(event="Hyphen that does not break") + "\n1. e4 e5 ½\u2011½\n\n",
        "e4 e5",
        "1/2-1/2",
        event="Hyphen that does not break",
    ),
    kept(
        tags(event="In the tag alone", result="0—1") + "\n1. e4 e5\n\n",
        "e4 e5",
        "0-1",
        event="In the tag alone",
    ),
    kept(
        as_bytes(tags(event="Code page 1252") + "\n1. e4 e5 ") + b"0\x961\n\n",
        "e4 e5",
        "0-1",
        event="Code page 1252",
    ),
)
add(
    "long-algebraic.pgn",
    "Both squares of each move, with the letter of the piece; a promotion without its sign.",
    kept(
        tags()
        + "\n1. e2-e4 e7-e5 2. Ng1-f3 Nb8-c6 3. Bf1-b5 a7-a6 4. Bb5xc6 d7xc6 5. 0-0 Qd8-d4+ 6. Nf3xd4 1-0\n\n",
        "e4 e5 Nf3 Nc6 Bb5 a6 Bxc6 dxc6 O-O Qd4 Nxd4",
        "1-0",
    ),
    set_up("8/P6k/8/8/8/8/p6K/8 w - - 0 1", "1. a7-a8Q a2-a1=N 1-0", "a8=Q a1=N", event="Promotion"),
    skip(tags(event="Not from there") + "\n1. e4 e5\n2. §Ng1-e4 Nc6 1-0\n\n", "illegal move"),
)
add(
    "coordinates.pgn",
    "The two squares of each move alone: captures, castling both ways, capture in passing, promotion.",
    kept(
        tags()
        + "\n1. e2e4 d7d5 2. e4d5 d8d5 3. g1f3 c8g4 4. f1e2 b8c6 5. e1g1 e8c8 6. h2h3 g4f3 1-0\n\n",
        "e4 d5 exd5 Qxd5 Nf3 Bg4 Be2 Nc6 O-O O-O-O h3 Bxf3",
        "1-0",
    ),
    kept(
        tags(event="In passing", result="*") + "\n1. e2e4 g8f6 2. e4e5 d7d5 3. e5d6 f6e4 *\n\n",
        "e4 Nf6 e5 d5 exd6 Ne4",
        "*",
    ),
    set_up(
        "1n5k/P7/8/8/8/8/p7/1N5K w - - 0 1",
        "1. a7b8q h8g7 2. h1g2 a2a1n 1-0",
        "axb8=Q+ Kg7 Kg2 a1=N",
        event="Promotion",
    ),
    skip(tags(event="No unit there") + "\n1. e2e4 e7e5\n2. §g3f5 b8c6 1-0\n\n", "illegal move"),
    skip(
        tags(event="Promotion to nothing", SetUp="1", FEN="7k/P7/8/8/8/8/8/7K w - - 0 1")
        + "\n1. §a7a8 1-0\n\n",
        "illegal move",
    ),
    set_up(
        "bqnrkrnb/pppppppp/8/8/8/8/PPPPPPPP/BQNRKRNB w KQkq - 0 1",
        "1. g1f3 g8f6 2. e1f1 d7d5 *",
        "Nf3 Nf6 O-O d5",
        event="Chess960, king takes rook",
        Variant="Chess960",
    ),
)
