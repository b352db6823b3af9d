"""The spells of a game at each k by itself, and which of them restrain their piece
(definitions, section 6)."""

from dataclasses import dataclass

from identity import Unit
from position import attacked_by
from track import Track
from units import PIECES

K_VALUES = range(5)
OTHERS_K = 2


@dataclass(frozen=True)
class Spell:
    """A maximal run of turns at which a piece is restricted at one k."""

    unit: Unit
    k: int
    turns: list[int]
    cause: dict
    restrains: bool

    def landmark(self) -> int | None:
        """The turn from which what follows is counted."""
        return self.turns[1] if self.restrains else None

    def restrained_turns(self, p: int) -> int | None:
        """Turns from the landmark to turn p, both counted; None where p is before it."""
        if not self.restrains or p not in self.turns[1:]:
            return None
        return self.turns.index(p)


def runs(track: Track, unit: Unit, k: int) -> list[list[int]]:
    """Maximal runs of consecutive turns of the owner at which the piece is restricted at k."""
    found: list[list[int]] = []
    running = False
    for turn in track.turns(unit):
        if track.safe(unit, turn) <= k:
            if running:
                found[-1].append(turn)
            else:
                found.append([turn])
            running = True
        else:
            running = False
    return found


def restrains(track: Track, unit: Unit, turns: list[int], cause: dict) -> bool:
    """Whether a spell restrains its piece."""
    start = turns[0]
    return (
        unit.developed(start)
        and cause["cause"] == "taken"
        and cause["quiet"]
        and attacked_by(track.boards[start], unit.square(start)) == ""
        and len(turns) >= 2
    )


def spells_of(track: Track, cause_of) -> list[Spell]:
    """All spells, by piece, k and start. `cause_of` says what caused one."""
    found = []
    for unit in track.units:
        if unit.kind not in PIECES:
            continue
        for k in K_VALUES:
            for turns in runs(track, unit, k):
                cause = cause_of(track, unit, turns[0], k)
                found.append(Spell(unit, k, turns, cause, restrains(track, unit, turns, cause)))
    return found


def others(track: Track, spells: list[Spell], unit: Unit, p: int) -> dict:
    """How many other pieces of the side are held or restrained at turn p."""
    beside = [
        other for other in track.units
        if other is not unit and other.color == unit.color and other.kind in PIECES
        and other.square(p) is not None
    ]
    held = [u for u in beside if u.developed(p) and track.safe(u, p) <= OTHERS_K]
    restrained = {
        spell.unit.slot for spell in spells
        if spell.k == OTHERS_K and spell.restrained_turns(p) is not None
    }
    return {
        "others_held": len(held),
        "others_restrained": sum(u.slot in restrained for u in beside),
    }
