"""Rows of the table `sides`: one a game and side (definitions, section 8)."""

import chess

from captures import fates
from classes import phase
from clock import seconds_used, time_control
from evaluation import hundredths
from heading import Heading
from player_key import player_fold, player_key
from spells import owner_result
from track import Track
from turns import scope
from units import COLOR_NAME, KIND_NAME, PIECES

KS = range(5)
KINDS = ("knight", "bishop", "rook", "queen")
CAUSES = ("undeveloped", "taken", "blocked", "entered", "pinned")
PHASES = ("opening", "middlegame", "endgame")
ENDS = ("lost", "traded", "sold", "freed", "game over")
WITHIN = 10


def turn_counts(track: Track, color: chess.Color, spells: list) -> dict:
    """Turns of the side and of its pieces."""
    row = {"turns": sum(ply.side == color for ply in track.plies)}
    for name in ("piece_turns", "developed_turns"):
        row |= {f"{name}_{kind}": 0 for kind in KINDS}
    for name in ("held", "restrained"):
        row |= {f"{name}_{kind}_{k}": 0 for kind in KINDS for k in KS}
    row |= {f"held_lost_{k}": 0 for k in KS}
    row |= {f"held_lost_{kind}_{k}": 0 for kind in KINDS for k in KS}
    row |= {f"developed_turns_{word}": 0 for word in PHASES}
    row |= {f"{name}_{word}_{k}": 0 for name in ("held", "held_lost") for word in PHASES for k in KS}
    found = fates(track.units, track.plies, track.boards)
    for unit in track.units:
        if unit.kind not in PIECES or unit.color != color:
            continue
        kind = KIND_NAME[unit.kind]
        is_lost = unit.captured is not None and found[unit.slot].word == "lost"
        for p in track.turns(unit):
            row[f"piece_turns_{kind}"] += 1
            if not unit.developed(p):
                continue
            at = phase(track.boards[p], p)
            row[f"developed_turns_{kind}"] += 1
            row[f"developed_turns_{at}"] += 1
            for k in KS:
                held = track.safe(unit, p) <= k
                row[f"held_{kind}_{k}"] += held
                lost = held and is_lost and unit.captured <= p + 2 * WITHIN
                row[f"held_{at}_{k}"] += held
                row[f"held_lost_{k}"] += lost
                row[f"held_lost_{kind}_{k}"] += lost
                row[f"held_lost_{at}_{k}"] += lost
    for spell in spells:
        if spell.unit.color == color and spell.restrains:
            kind = KIND_NAME[spell.unit.kind]
            row[f"restrained_{kind}_{spell.k}"] += len(spell.turns[1:])
    return row


def spell_counts(color: str, rows: list[dict]) -> dict:
    """Spells of pieces developed at their start."""
    own = [row for row in rows if row["color"] == color and row["developed"]]
    counts = {}
    for k in KS:
        at_k = [row for row in own if row["k_low"] <= k <= row["k_high"]]
        restraints = [row for row in at_k if row["restrained"]]
        for cause in CAUSES:
            counts[f"cause_{cause}_{k}"] = sum(row["cause"] == cause for row in at_k)
        for end in ENDS:
            counts[f"end_{end.replace(' ', '_')}_{k}"] = sum(row["ended"] == end for row in at_k)
        counts[f"spell_turns_{k}"] = sum(row["turns"] for row in at_k)
        counts[f"restraints_{k}"] = len(restraints)
        counts[f"restraints_lost_{k}"] = sum(
            row["fate"] == "lost" and row["fate_ply"] <= row["start_ply"] + 2 + 2 * WITHIN
            for row in restraints
        )
    return counts


def play_counts(track: Track, color: chess.Color, moves: list[dict], chances: list[dict]) -> dict:
    """Squares, captured units and chances."""
    at_move = [p for p, ply in enumerate(track.plies) if ply.side == color]
    row = {
        name: sum(moves[p][name] for p in at_move)
        for name in ("taken", "given", "own_taken", "own_given")
    }
    row["scope_own"] = sum(scope(track, p, color) for p in at_move)
    row["scope_other"] = sum(scope(track, p, not color) for p in at_move)
    lost = [moves[p] for p, ply in enumerate(track.plies) if ply.side != color]
    for fate in ("lost", "traded", "sold"):
        for unit in ("pawn", *KINDS):
            row[f"{fate}_{unit}"] = sum(
                move["captured"] == unit and move["captured_fate"] == fate for move in lost
            )
    own = [chance for chance in chances if chance["color"] == COLOR_NAME[color]]
    row["chances"] = len(own)
    row["chances_taken"] = sum(chance["restrains"] for chance in own)
    row["chances_at_random"] = sum(
        int(1000 * chance["restraining"] / chance["quiet"] + 0.5) for chance in own
    )
    return row


def said(track: Track, color: chess.Color, control: tuple) -> dict:
    """Seconds used and evaluations."""
    at_move = [p for p, ply in enumerate(track.plies) if ply.side == color]
    used = [found for p in at_move if (found := seconds_used(track, p, control)) is not None]
    evals = [found for p in at_move if (found := hundredths(track, p, color)) is not None]
    lost = [
        max(0, before + after)
        for p in at_move
        if (before := hundredths(track, p, color)) is not None
        and (after := hundredths(track, p + 1, not color)) is not None
    ]
    return {
        "seconds_used": sum(used) if used else None,
        "timed_moves": len(used),
        "eval_mean": sum(evals) / (100 * len(evals)) if evals else None,
        "eval_turns": len(evals),
        "eval_lost": sum(lost) / 100 if lost else None,
        "eval_moves": len(lost),
    }


def side_rows(track: Track, game: int, fold: int, heading: Heading, result: str,
              spells: list, tables: dict[str, list[dict]]) -> list[dict]:
    """White's row and Black's; `tables` are the other rows of the game."""
    rows = []
    text = heading.text
    control = time_control(text["TimeControl"])
    ratings = {
        color: value if isinstance(value, int) else None
        for color, value in heading.ratings.items()
    }
    for color in (chess.WHITE, chess.BLACK):
        name = text["White" if color else "Black"]
        title = text["WhiteTitle" if color else "BlackTitle"]
        rows.append({
            "game": game,
            "fold": fold,
            "color": COLOR_NAME[color],
            "player_key": player_key(name),
            "player_fold": player_fold(name),
            "title": None if title == "-" else title,
            "rating": ratings[color],
            "opponent_rating": ratings[not color],
            "band": heading.band(color),
            "opponent_band": heading.band(not color),
            "rating_diff": heading.rating_diff(color),
            "time_class": heading.time_class,
            "event": text["Event"],
            "game_date": text["Date"],
            "eco": text["ECO"],
            "time_control": text["TimeControl"],
            "base_seconds": control[0],
            "increment_seconds": control[1],
            "owner_result": owner_result(result, color),
            **turn_counts(track, color, spells),
            **spell_counts(COLOR_NAME[color], tables["spells"]),
            **play_counts(track, color, tables["moves"], tables["decisions"]),
            **said(track, color, control),
        })
    return rows
