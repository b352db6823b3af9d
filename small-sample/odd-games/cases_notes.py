"""Comments, variations, results, tags, borders between games, encodings."""

from kit import add, as_bytes, crlf, good, kept, plain, raw, skip, tags

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
    "A closing bracket without an opening one: it is unknown where the variation began.",
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
add("result-open.pgn", "Not finished: *", plain("1. e4 e5 *"))
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
    plain("1-0", Termination="abandoned"),
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
    "A file that is not an archive of games at all.",
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
