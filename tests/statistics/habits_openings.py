"""Openings of a player's games, by ECO code or by first moves, as deep as the games allow; moves are
written out by python-chess."""

import math

import chess

FIRST_PLIES = 12
MOST_GROUPS = 25


def cut(path, length):
    """The first signs of a path such as `eco C 4 5` or `moves e2e4 e7e5`; None where it is shorter."""
    signs = path.split()
    return " ".join(signs[: length + 1]) if len(signs) > length else None


def in_words(path):
    """A path as a reader sees it."""
    by, *signs = path.split()
    if by == "eco":
        return "ECO " + "".join(signs)
    board, words = chess.Board(), []
    for sign in signs:
        if board.turn:
            words.append(f"{board.fullmove_number}.")
        move = chess.Move.from_uci(sign)
        words.append(board.san(move))
        board.push(move)
    return " ".join(words)


def paths(con):
    """A column `path` of `counted`: the signs of the code, or the first moves from the usual start."""
    con.execute("alter table counted add column path varchar")
    con.execute(
        f"""
        update counted set path = coalesce(
            'eco ' || nullif(array_to_string(string_split(regexp_extract(upper(eco), '^[A-E][0-9]{{0,2}}'), ''), ' '), ''),
            case when start_fen is null then (
                select 'moves ' || string_agg(from_square || to_square || case promotion when 'knight' then 'n'
                                              else coalesce(promotion[1], '') end, ' ' order by ply)
                from moves m where m.source = counted.source and m.game = counted.game and m.ply <= {FIRST_PLIES}
            ) end)
        """
    )


def by_opening(con, least):
    """The group of openings of each side: a column of `counted`. Gives the groups of the player's games."""
    paths(con)
    own = dict(con.execute("select path, count(*) from counted where own and path is not null group by path").fetchall())
    least = max(least, math.ceil(sum(own.values()) / MOST_GROUPS))
    groups = set()
    for length in range(FIRST_PLIES, 0, -1):
        sums = {}
        for path, games in own.items():
            if (group := cut(path, length)) is not None:
                sums[group] = sums.get(group, 0) + games
        new = {group for group, games in sums.items() if length == 1 or games >= least}
        own = {path: games for path, games in own.items() if cut(path, length) not in new}
        groups |= new
    words = {group: in_words(group) for group in groups}

    def label(path):
        for length in range(FIRST_PLIES, 0, -1):
            group = cut(path or "", length)
            if group in groups:
                deeper = any(other.startswith(group + " ") for other in groups)
                return words[group] + (", others" if deeper else "")
        return "no opening known"

    con.create_function("opening_label", label, ["VARCHAR"], "VARCHAR", null_handling="special")
    con.execute("alter table counted add column opening_group varchar")
    con.execute("update counted set opening_group = opening_label(path)")
    return [row[0] for row in con.execute("select distinct opening_group from counted where own").fetchall()]
