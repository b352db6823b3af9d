"""Rows of the table `turns`: developed pieces at sampled turns and at landmark turns
(definitions, section 8)."""

import struct

import chess
import xxhash

from captures import fates
from clock import seconds_used, time_control
from evaluation import evaluation, evaluation_after
from heading import Heading
from identity import Unit
from position import attacked_by
from running import K_VALUES, Spell, others
from spells import fate_of, material_after, owner_result, spell_fields, state_at
from surroundings import attack
from track import Track
from units import COLOR_NAME, KIND_NAME, PIECES

LANDMARK_K = {chess.KNIGHT: 1, chess.BISHOP: 1, chess.ROOK: 2, chess.QUEEN: 2}


def is_sampled(game_id: int, p: int, one_in: int) -> bool:
    """Whether a turn is in the sample."""
    return xxhash.xxh3_64_intdigest(struct.pack("<QH", game_id, p), seed=0) % one_in == 0


def landmark_turns(spells: list[Spell]) -> set[int]:
    """Turns at which a piece is at a landmark that puts them into the table."""
    return {
        spell.landmark() for spell in spells
        if spell.restrains and spell.k <= LANDMARK_K[spell.unit.kind]
    }


def earlier(track: Track, unit: Unit, p: int) -> tuple[int | None, bool | None]:
    """Safe squares of the piece at an earlier turn, and whether it was attacked then."""
    safe = track.safe(unit, p)
    if safe is None:
        return None, None
    return safe, attacked_by(track.boards[p], unit.square(p)) != ""


def restriction(running: list[Spell], safe: int, p: int) -> dict:
    """The spells of a piece that run at turn p."""
    held = next((spell for spell in running if spell.k == safe), None)
    row = {"held_turns": None if held is None else held.turns.index(p) + 1}
    row |= spell_fields(held)
    restrained = {spell.k: spell for spell in running if spell.restrained_turns(p) is not None}
    for k in K_VALUES:
        row[f"restrained_{k}"] = restrained[k].restrained_turns(p) if k in restrained else None
    newest = max(restrained.values(), key=lambda spell: spell.turns[0], default=None)
    cause = {} if newest is None else newest.cause
    row["restrained_by"] = cause.get("cause_kind")
    row["restrained_before"] = cause.get("safe_before")
    row["restrained_taken"] = cause.get("squares_taken")
    return row


def others_lost(track: Track, unit: Unit, p: int, found: dict) -> int | None:
    """First later ply at which another piece of the side is lost."""
    plies = [
        other.captured for other in track.units
        if other is not unit and other.color == unit.color and other.kind in PIECES
        and other.captured is not None and other.captured > p and found[other.slot].word == "lost"
    ]
    return min(plies, default=None)


def scope(track: Track, p: int, color: chess.Color) -> int:
    """Safe squares of all units of a side."""
    return sum(f.safe.bit_count() for f in track.facts[p].values() if f.color == color)


def turn_rows(track: Track, spells: list[Spell], game: int, game_id: int, heading: Heading,
              result: str, one_in: int) -> list[dict]:
    """One row a developed piece at each turn that is in the table."""
    rows = []
    found = fates(track.units, track.plies, track.boards)
    landmarks = landmark_turns(spells)
    control = time_control(heading.text["TimeControl"])
    for p in range(track.length):
        sampled, landmark = is_sampled(game_id, p, one_in), p in landmarks
        if not sampled and not landmark:
            continue
        side = track.boards[p].turn
        for unit in track.units:
            if unit.kind not in PIECES or unit.color != side or unit.square(p) is None \
                    or not unit.developed(p):
                continue
            running = [s for s in spells if s.unit is unit and p in s.turns]
            state = state_at(track, spells, unit, p, control)
            for name in ("developed", "defended"):
                del state[name]
            safe_last, attacked_last = earlier(track, unit, p - 2)
            fate = fate_of(unit, found)
            del fate["net"]
            rows.append({
                "game": game,
                "fold": game_id % 64,
                "ply": p,
                "sampled": sampled,
                "landmark": landmark,
                "color": COLOR_NAME[unit.color],
                "piece": unit.slot,
                "kind": KIND_NAME[unit.kind],
                **state,
                **attack(track.boards[p], unit.square(p)),
                "safe_last": safe_last,
                "safe_before_last": earlier(track, unit, p - 4)[0],
                "attacked_last": attacked_last,
                **restriction(running, track.safe(unit, p), p),
                "seconds_used": seconds_used(track, p, control),
                "scope_own": scope(track, p, unit.color),
                "scope_other": scope(track, p, not unit.color),
                **fate,
                "others_lost_ply": others_lost(track, unit, p, found),
                **{f"material_{n}": material_after(track, unit, p, n) for n in (1, 3, 5, 10, 20)},
                **{f"eval_{n}": evaluation_after(track, p, unit.color, n) for n in (1, 3, 5, 10)},
                "plies_left": track.length - p,
                "owner_result": owner_result(result, unit.color),
                "band": heading.band(unit.color),
                "rating_diff": heading.rating_diff(unit.color),
                "time_class": heading.time_class,
            })
    return rows
