"""What a player's report says of chances to restrain, found anew: those missed by SQL from the
tables, and what each move does by the slow reading."""

import sys
from pathlib import Path

import chess

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "oracle"))
import decisions  # noqa: E402
from decisions import quiet_moves  # noqa: E402
from position import measure  # noqa: E402
from tried import squares_after  # noqa: E402

MISSED = """
    select g.game_id, d.ply, d.square, d.restraining, d.best, d.material_10
    from decisions d
    join asked a on a.source = d.source and a.game = d.game and a.color = d.color
    join games g on g.source = d.source and g.game = d.game
    where a.own and not d.restrains and d.played_quiet and d.safe::int - d.best::int >= 2
      and coalesce(d.fate_ply::int > d.ply::int + 20, true)
    qualify row_number() over (partition by g.game_id order by {order}) = 1
    order by {order} limit 10
"""
ORDER = """
    coalesce(d.material_10 <= -2, false) desc, d.safe::int - d.best::int desc, d.best,
    case d.kind when 'queen' then 9 when 'rook' then 5 else 3 end desc,
    g.game_id, d.source, d.game, d.ply, d.square
"""


def missed_chances(con, answer, report):
    """The chances shown are those of the rule; the slow reading agrees with what each move takes."""
    found = con.execute(MISSED.format(order=ORDER)).fetchall()
    shown = answer["missed_chances"]
    report.same("chances shown", len(shown), len(found))
    for one, (game_id, ply, square, moves, best, material) in zip(shown, found):
        what = f"missed chance in game {one['game']['number']}"
        report.same(f"{what}: place", [int(one["game"]["game_id"], 16), one["ply"], one["square"]],
                    [game_id, ply, square])
        report.same(f"{what}: counts", [one["answers"], len(one["left"]), one["material_10"]],
                    [moves, best, material])
        board = chess.Board(one["fen"])
        at = chess.parse_square(square)

        def safe():
            return {chess.square_name(s) for s in chess.scan_forward(measure(board)[at].safe)}

        # The piece's owner is on move for the slow reading, as after a turn passed.
        board.turn = not board.turn
        before = safe()
        board.turn = not board.turn
        board.push_san(one["answer"].split(".")[-1].strip())
        left = safe()
        report.same(f"{what}: squares left", sorted(one["left"]), sorted(left))
        report.same(f"{what}: squares taken", sorted(one["taken"]), sorted(before - left))


TAKEN = """
    select d.source, d.game, d.ply, d.square, d.kind, a.start_fen
    from decisions d join asked a on a.source = d.source and a.game = d.game and a.color != d.color
    where a.own and d.restrains
"""


def prevention(con, answer, report):
    """Quiet moves that prevent a restraint or end it, counted by the slow reading."""
    said, found = answer["prevention"], con.execute(TAKEN).fetchall()
    report.same("restraining moves", said["restraining"], len(found))
    # A position takes the slow reading a second or two.
    if said["looked_at"] > 12:
        return
    counted = {"preventable": [], "freeable": [], "freed": []}
    for source, game, ply, square, kind, fen in found:
        k = 1 if kind in ("knight", "bishop") else 2
        at = chess.parse_square(square)
        moves = con.execute(
            'select from_square, to_square, promotion from moves where source = ? and game = ? order by ply', [source, game]
        ).fetchall()
        board, before = chess.Board(fen) if fen else chess.Board(), None
        for number, (origin, to, promotion) in enumerate(moves):
            sign = {"knight": "n"}.get(promotion, promotion[0]) if promotion else ""
            move = chess.Move.from_uci(origin + to + sign)
            if number == ply - 1:
                stood = next(s for s, now in squares_after(board, move).items() if now == at)
                before = any(holds(one, squares_after(board, one.move)[stood], k)
                             for one in quiet_moves(board, measure(board)))
                counted["preventable"].append(before)
            if number == ply + 1:
                frees = [one.move for one in quiet_moves(board, measure(board))
                         if safe_passed(one.after, squares_after(board, one.move)[at]) > k]
                counted["freeable"].append(bool(frees))
                counted["freed"].append(move in frees)
            board.push(move)
    for name, came in counted.items():
        report.same(f"prevention, {name}", [said[name]["count"], said[name]["of"]], [sum(came), len(came)])


def safe_passed(board, square):
    """Safe squares of a piece of the side that is not on move."""
    board = board.copy(stack=False)
    board.turn, board.ep_square = not board.turn, None
    return measure(board)[square].safe.bit_count()


def holds(quiet, square, k):
    """Whether a piece keeps more than k safe squares after a move, whatever quiet move comes."""
    if safe_passed(quiet.after, square) <= k:
        return False
    kind = quiet.after.piece_type_at(square)
    others = quiet_moves(quiet.after, measure(quiet.after))
    return decisions.counts(square, kind, others)["restraining"] == 0
