"""Rows of the table `decisions`: chances to restrain at sampled turns, and what was played
(definitions, section 8)."""

import chess

from captures import fates
from classes import phase
from clock import clock_of, seconds_used, time_control
from evaluation import evaluation, evaluation_after
from exchange import Exchanges
from heading import Heading
from identity import Unit
from player_key import player_fold
from position import Facts, attacked_by
from reach import unit_reach
from spells import fate_of, owner_result
from surroundings import attack, defence
from track import Track
from tried import hanging, sound
from turns import is_sampled, others_lost, scope
from units import COLOR_NAME, KIND_NAME, PIECES, balance

K = {chess.KNIGHT: 1, chess.BISHOP: 1, chess.ROOK: 2, chess.QUEEN: 2}
HELD = 2


class Quiet:
    """A quiet move that gives nothing away, and the position after it."""

    def __init__(self, board: chess.Board, move: chess.Move):
        self.move = move
        self.by_pawn = board.piece_type_at(move.from_square) == chess.PAWN
        self.after = board.copy(stack=False)
        self.after.push(move)
        self.exchanges = Exchanges(self.after)

    def left(self, square: int) -> int:
        """Safe squares of the unit on a square after it."""
        reach = unit_reach(self.after, square)
        return self.exchanges.safe_of(square, reach).bit_count()


def quiet_moves(board: chess.Board, facts: dict[int, Facts]) -> list[Quiet]:
    """The legal moves that are quiet and give nothing away."""
    hung = hanging(board, board.turn)
    return [Quiet(board, move) for move in board.legal_moves if sound(board, move, facts, hung)]


def counts(square: int, kind: chess.PieceType, quiet: list[Quiet]) -> dict:
    """What the quiet moves would leave a piece."""
    k = K[kind]
    few = [(one, one.left(square)) for one in quiet]
    few = [(one, left) for one, left in few if left <= k]
    restraining = [(one, left) for one, left in few if attacked_by(one.after, square) == ""]
    leaving = {
        f"leaving_{n}": sum(left == n for _, left in restraining) if n <= k else None
        for n in range(3)
    }
    return {
        "restraining": len(restraining),
        **leaving,
        "best": min((left for _, left in restraining), default=None),
        "by_pawn": sum(one.by_pawn for one, _ in restraining),
        "attacking": len(few) - len(restraining),
        "moves": [one.move for one, _ in restraining],
    }


def material_after(track: Track, p: int, color: chess.Color, moves: int) -> int | None:
    """Change of the balance of a side in some moves; None where the game ended sooner."""
    then = p + 2 * moves
    if then > track.length:
        return None
    return balance(track.boards[then], color) - balance(track.boards[p], color)


def played(track: Track, unit: Unit, p: int) -> dict:
    """What the move played left the piece."""
    captured = unit.captured == p + 1
    after = track.boards[p + 1]
    return {
        "played": KIND_NAME[track.plies[p].mover],
        "squares_left": None if captured else track.safe(unit, p + 1),
        "attacks": not captured and attacked_by(after, unit.square(p + 1)) != "",
    }


def others_held(track: Track, unit: Unit, p: int) -> int:
    """Other developed pieces of the side with few safe squares."""
    return sum(
        other is not unit and other.color == unit.color and other.kind in PIECES
        and other.square(p) is not None and other.developed(p) and track.safe(other, p) <= HELD
        for other in track.units
    )


def move_played(track: Track, p: int) -> chess.Move:
    """The move that ply p + 1 is."""
    board = track.boards[p]
    for move in board.legal_moves:
        after = board.copy(stack=False)
        after.push(move)
        if after.board_fen() == track.boards[p + 1].board_fen():
            return move
    raise ValueError(f"no move leads from {board.fen()} to {track.boards[p + 1].fen()}")


def decision_rows(track: Track, game: int, game_id: int, heading: Heading, result: str,
                  one_in: int, names: dict[chess.Color, str | None]) -> list[dict]:
    """One row a chance at each turn in the sample."""
    rows = []
    found = fates(track.units, track.plies, track.boards)
    control = time_control(heading.text["TimeControl"])
    for p in range(track.length):
        if not is_sampled(game_id, p, one_in):
            continue
        board = track.boards[p]
        mover = board.turn
        could_be = [
            unit for unit in track.units
            if unit.kind in PIECES and unit.color != mover and unit.square(p) is not None
            and unit.developed(p) and track.safe(unit, p) > K[unit.kind]
        ]
        if not could_be:
            continue
        quiet = quiet_moves(board, track.facts[p])
        move = move_played(track, p)
        for unit in could_be:
            square = unit.square(p)
            counted = counts(square, unit.kind, quiet)
            restraining = counted.pop("moves")
            if not restraining:
                continue
            fate = fate_of(unit, found)
            del fate["net"]
            around = {**attack(board, square), **defence(board, square)}
            del around["defended"]
            rows.append({
                "game": game,
                "fold": game_id % 64,
                "player_fold": player_fold(names[mover]),
                "ply": p,
                "color": COLOR_NAME[mover],
                "piece": unit.slot,
                "kind": KIND_NAME[unit.kind],
                "square": chess.square_name(square),
                "safe": track.safe(unit, p),
                "safe_last": track.safe(unit, p - 1),
                "attacked_by": attacked_by(board, square),
                **around,
                "others_held": others_held(track, unit, p),
                **counted,
                "legal": board.legal_moves.count(),
                "quiet": len(quiet),
                **played(track, unit, p),
                "played_quiet": move in [one.move for one in quiet],
                "restrains": move in restraining,
                "scope_own": scope(track, p, mover),
                "scope_other": scope(track, p, not mover),
                "balance": balance(board, mover),
                "phase": phase(board, p),
                "clock": clock_of(track, p, mover, control),
                "seconds_used": seconds_used(track, p, control),
                "eval": evaluation(track, p, mover),
                **fate,
                "others_lost_ply": others_lost(track, unit, p, found),
                **{f"material_{n}": material_after(track, p, mover, n) for n in (1, 3, 5, 10, 20)},
                **{f"eval_{n}": evaluation_after(track, p, mover, n) for n in (1, 3, 5, 10)},
                "plies_left": track.length - p,
                "mover_result": owner_result(result, mover),
                "band": heading.band(mover),
                "owner_band": heading.band(not mover),
                "rating_diff": heading.rating_diff(mover),
                "time_class": heading.time_class,
            })
    return rows
