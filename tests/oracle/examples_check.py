"""Examples and quiz positions of training claims, checked by the conditions they state.

Read from the JSON of `hobble examples` and `hobble ask`, played through with python-chess and
measured with the slow reading of this folder (reach and exchange, from
schemas/definitions.md, sections 3 and 4). The conditions are those of the field `rule` of an
example; nothing is taken from the program's own search for them. Prints a line a claim: claim,
source, examples and positions looked at, differences.
"""

import argparse
import json
import subprocess
import sys
from dataclasses import dataclass, field

import chess

import captures
from exchange import Exchange
from identity import Roster
from position import measure
from reach import turn_passed_to, unit_reach
from tried import hanging, sound
from units import VALUE, balance

BIT = chess.BB_SQUARES
THREAT = 2
LEVEL = 2


@dataclass
class Differences:
    claim: str
    found: list = field(default_factory=list)

    def expect(self, holds, what):
        if not holds:
            self.found.append(what)

    def printed(self, line):
        """Prints a line with the number of differences, and the first ten; whether there are any."""
        print(f"{line} | {len(self.found)} differences")
        for what in self.found[:10]:
            print(f"  {what}")
        return bool(self.found)


def gain(board, square):
    """What the other side nets by capturing the unit on a square as if on move; None where
    nothing can capture it."""
    side = not board.color_at(square)
    passed = turn_passed_to(board, side)
    going = Exchange(passed, square)
    nets = [
        going.going(origin)
        for origin in chess.scan_forward(passed.attackers_mask(side, square))
        if unit_reach(passed, origin) & BIT[square]
    ]
    return max(nets, default=None)


def loosest(board, side):
    """The most the other side can win from a side by one exchange."""
    units = board.occupied_co[side] & ~board.kings
    return max([0] + [gain(board, square) or 0 for square in chess.scan_forward(units)])


def safe_squares(board, square):
    """Safe squares of the unit on a square."""
    passed = turn_passed_to(board, board.color_at(square))
    reach = chess.scan_forward(unit_reach(passed, square))
    return {target for target in reach if Exchange(passed, target).going(square) >= 0}


def names(squares):
    return [chess.square_name(square) for square in sorted(squares)]


def is_quiet(board, move):
    return not board.is_capture(move) and not move.promotion and not board.gives_check(move)


def is_sound(board, move):
    """Whether nothing wins material from the side that makes this move: its mover cannot be
    taken at a profit, and nothing worth two pawns is loose."""
    after = board.copy(stack=False)
    side = board.turn
    arrived = move.to_square
    if board.is_castling(move):
        rook_file = 5 if board.is_kingside_castling(move) else 3
        arrived = chess.square(rook_file, chess.square_rank(move.from_square))
    after.push(move)
    return (gain(after, arrived) or 0) <= 0 and loosest(after, side) < THREAT


def play(example):
    """Positions of the game, and its moves."""
    start = example["start_fen"]
    board = chess.Board(start, chess960=True) if start else chess.Board()
    positions, moves = [board.copy(stack=False)], []
    for san in example["moves"]:
        moves.append(board.push_san(san))
        positions.append(board.copy(stack=False))
    return positions, moves


def followed(positions, moves):
    """The units of the game, each with its way, and the plies."""
    roster = Roster(positions[0])
    plies = [
        roster.play(positions[number - 1], move, number) for number, move in enumerate(moves, 1)
    ]
    return roster.units, plies


def fate_of(positions, moves, ply):
    """What became of the unit that a ply captured (definitions, section 7)."""
    units, plies = followed(positions, moves)
    found = captures.fates(units, plies, positions)
    return next(found[unit.slot] for unit in units if unit.captured == ply)


def check_stretch(stretch, start, end, square, positions, moves, expect):
    """The stretch to step through: from six plies before the position in which the restraining move
    was played to the end of the spell, the same unit in each position, its safe squares."""
    last = min(end, len(moves))
    first = max(0, start - 7)
    plies = [station["ply"] for station in stretch["positions"]]
    expect(plies == list(range(first, last + 1)), "plies of the stretch")
    expect(stretch["shown"] == stretch["began"] == start - first, "position of the stretch shown first")
    units = followed(positions, moves)[0]
    unit = next(unit for unit in units if unit.square(start) == square)
    for station in stretch["positions"]:
        ply = station["ply"]
        board = positions[ply]
        expect(board.fen().split()[:2] == station["fen"].split()[:2], f"position after ply {ply}")
        place = unit.square(ply)
        shown = station["square"] and chess.parse_square(station["square"])
        expect(shown == place, f"where the piece stands after ply {ply}")
        safe = names(safe_squares(board, place)) if place is not None else []
        expect(station["safe"] == safe, f"safe squares after ply {ply}")
        if ply > 0:
            move = positions[ply - 1].san(moves[ply - 1])
            expect(station["label"].split(".")[-1].strip() == move, f"move of ply {ply}")


def check_example(claim, example, out):
    at = f"game {example['game']['number']}, {example['cause']['label']}"

    def expect(holds, what):
        out.expect(holds, f"{at}: {what}")

    positions, moves = play(example)
    start, square = example["cause"]["ply"], chess.parse_square(example["square"])
    owner = chess.WHITE if example["color"] == "white" else chess.BLACK
    before, after, move = positions[start - 1], positions[start], moves[start - 1]
    expect(before.fen().split()[:2] == example["fen_before"].split()[:2], "position before")
    expect(after.fen().split()[:2] == example["fen_after"].split()[:2], "position after")
    was, left = safe_squares(before, square), safe_squares(after, square)
    expect(names(was) == example["safe_before"], "safe squares before")
    expect(names(left) == example["safe_after"], "safe squares after")
    expect(names(was - left) == example["taken"] != [], "squares taken")
    expect(len(left) <= claim["k"], "few squares left")
    expect(is_quiet(before, move), "the move is quiet")
    plainly = "no game shows" not in example["chosen"]
    expect(is_sound(before, move) or not plainly, "the move is sound")
    expect(not after.attackers(not owner, square), "the piece is not attacked")
    phase = claim["phase"]
    expect(not phase or example["phase"] in phase, "phase")
    end = example["ended"]["ply"]
    check_stretch(example["stretch"], start, end, square, positions, moves, expect)
    turns = []
    for ply in range(start, end):
        if positions[ply].turn == owner:
            safe = len(safe_squares(positions[ply], square))
            turns.append((ply, square, safe, gain(positions[ply], square) or 0))
        moved = moves[ply]
        if moved.from_square == square:
            square = moved.to_square
            free = ply + 2 >= end or not plainly
            expect(free or not positions[ply].is_capture(moved), "the piece takes nothing")
    expect(len(turns) == example["turns"], "number of turns")
    expect(all(safe <= claim["k"] for _, _, safe, _ in turns), "no more squares at any turn")
    if not plainly:
        return  # It does not keep to the rule, as it says.
    expect(abs(balance(after, owner)) <= LEVEL, "material is level")
    if example["role"] == "counter-example":
        check_escape(example, positions, owner, turns, square, expect)
    else:
        check_loss(claim, example, positions, moves, owner, turns, square, expect)


def check_loss(claim, example, positions, moves, owner, turns, square, expect):
    start, end = example["cause"]["ply"], example["ended"]["ply"]
    expect(moves[end - 1].to_square == square, "the last move captures the piece")
    landmark = start + 2 * (claim["turns"] - 1)
    expect(end <= landmark + 2 * claim["within"], "in time")
    expect(turns[-1][2] == 0, "no safe square at the last turn")
    expect(turns[-1][3] >= THREAT, "under threat at the last turn")
    quiet = len(turns)
    while quiet and turns[quiet - 1][3] >= THREAT:
        quiet -= 1
    first = turns[quiet]
    expect(quiet == 0 or turns[quiet - 1][1] == first[1], "did not walk into the threat")
    expect(abs(balance(positions[first[0]], owner)) <= LEVEL, "level when the threat came up")
    won = {"1-0": chess.WHITE, "0-1": chess.BLACK}.get(example["game"]["result"])
    expect(won is not owner, "the owner did not win")
    fate = fate_of(positions, moves, end)
    worth = VALUE[positions[start].piece_type_at(chess.parse_square(example["square"]))]
    expect(fate.word == "lost" and -worth <= fate.net <= -2, "lost for little")


def check_escape(example, positions, owner, turns, square, expect):
    end = example["ended"]["ply"]
    expect(all(threat < THREAT for _, _, _, threat in turns), "never under threat")
    won = {"1-0": chess.WHITE, "0-1": chess.BLACK}.get(example["game"]["result"])
    expect(won is owner or example["game"]["result"] == "1/2-1/2", "the owner did not lose")
    expect(positions[end].color_at(square) == owner, "the piece is there when it is free")
    expect(positions[end - 1].turn == owner, "its owner freed it")
    threats = len(safe_squares(positions[end], square))
    expect(threats > len(example["safe_after"]) or threats > turns[-1][2], "more squares again")


def leaving(board, square):
    """Each legal move that leaves the piece on a square: the move, the position after it, and the
    piece's safe squares there."""
    for move in board.legal_moves:
        if move.to_square != square:
            after = board.copy(stack=False)
            after.push(move)
            yield move, after, safe_squares(after, square)


def check_task(claim, task, out):
    board = chess.Board(task["fen"])
    square = chess.parse_square(task["square"])
    at = f"position {task['fen']}"
    calm = not board.is_check() and not hanging(board, True) and not hanging(board, False)
    out.expect(calm, f"{at}: check, or something hangs already")
    out.expect(names(safe_squares(board, square)) == task["safe"], f"{at}: safe squares")
    theirs, near = {}, {}
    facts, hung = measure(board), hanging(board, board.turn)
    for move, after, safe in leaving(board, square):
        few = len(safe) <= claim["k"]
        if not is_quiet(board, move):
            miss = "not quiet"
        elif not sound(board, move, facts, hung):
            miss = "gives something away"
        elif not few:
            miss = "leaves more squares"
        elif after.attackers(board.turn, square):
            out.expect(False, f"{at}: {board.san(move)} leaves as few by attacking it")
            continue
        else:
            theirs[board.san(move)] = names(safe)
            continue
        near[board.san(move)] = (miss, names(safe))

    def san(shown):
        return shown["label"].split(".")[-1].strip()

    ours = {san(answer): answer["safe"] for answer in task["answers"]}
    out.expect(theirs == ours, f"{at}: answers {ours} are {theirs}")
    out.expect(len(theirs) == 1 and task["answers"][0]["played"], f"{at}: one answer, and it was played")
    for shown in task["near"]:
        given = (shown["miss"], shown["safe"])
        out.expect(near.get(san(shown)) == given, f"{at}: near miss {shown} is {near.get(san(shown))}")
    as_few = [safe for _, safe in near.values() if len(safe) <= claim["k"]]
    out.expect(len(as_few) <= 2, f"{at}: as many other moves leave it as few squares")


def check_shown(examples, out):
    """The stretches of a comparison's examples, which do not carry the moves of their games: every
    position follows from the one before by the move that is named."""
    count = 0
    for example in examples:
        stretch = example["board"]["stretch"]
        at = f"game {example['game']['number']}, stretch"
        before = None
        for station in stretch["positions"]:
            board = chess.Board(station["fen"], chess960=True)
            if before is not None:
                before.push_san(station["label"].split(".")[-1].strip())
                out.expect(before.board_fen() == board.board_fen(), f"{at}: ply {station['ply']}")
            square = station["square"] and chess.parse_square(station["square"])
            if square is not None:
                piece = board.piece_at(square)
                named = f"{chess.COLOR_NAMES[piece.color]} {chess.piece_name(piece.piece_type)}"
                out.expect(named == stretch["piece"], f"{at}: {named} on {station['square']}")
                safe = names(safe_squares(board, square))
                out.expect(safe == station["safe"], f"{at}: safe squares after ply {station['ply']}")
            before = board
            count += 1
        shown = stretch["positions"][stretch["shown"]]
        out.expect(shown["fen"] == example["board"]["fen_after"], f"{at}: the position shown first")
        out.expect(shown["square"] == example["square"], f"{at}: the piece shown first")
    return count


def check_comparison(hobble, name, data, label):
    answer = run(hobble, "ask", name, "--data", data, "--format", "json")
    out = Differences(name)
    count = check_shown(answer["examples"], out)
    examples = len(answer["examples"])
    line = f"examples of {name}, {label} | python-chess, definitions | {examples} examples, {count} positions"
    return out.printed(line) or count == 0


def run(hobble, *arguments):
    done = subprocess.run([hobble, *arguments], stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--data", required=True)
    parser.add_argument("--label", required=True)
    parser.add_argument("--count", default="20")
    parser.add_argument("--comparison", help="a comparison whose examples are looked at too")
    parser.add_argument("claims", nargs="+")
    arguments = parser.parse_args()
    failed = False
    for name in arguments.claims:
        asked = ["--data", arguments.data, "--format", "json"]
        listed = run(arguments.hobble, "examples", name, "--count", arguments.count, *asked)
        answer = run(arguments.hobble, "ask", name, *asked)
        claim, out = answer["claim"], Differences(name)
        for example in listed["examples"] + answer["examples"]:
            check_example(claim, example, out)
        for task in answer["quiz"]:
            check_task(claim, task, out)
        for shown in (listed["examples"], answer["examples"] + answer["quiz"]):
            positions = [one.get("fen_before", one.get("fen")).split()[:2] for one in shown]
            out.expect(len(set(map(tuple, positions))) == len(positions), "a position is there twice")
            games = [one["game"]["number"] for one in shown]
            out.expect(len(set(games)) == len(games), "a game is there twice")
        looked = f"{len(listed['examples'])} examples, {len(answer['quiz'])} positions"
        failed |= out.printed(f"examples of {name}, {arguments.label} | python-chess, definitions | {looked}")
    if arguments.comparison:
        asked = (arguments.hobble, arguments.comparison, arguments.data, arguments.label)
        failed |= check_comparison(*asked)
    sys.exit(failed)


if __name__ == "__main__":
    main()
