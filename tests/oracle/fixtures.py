"""The hand-made fixtures, and how a table's rows are held against them."""

import json
from pathlib import Path

FOLDER = Path(__file__).resolve().parent / "fixtures"


def load() -> list[dict]:
    """What fixtures.json says, in order."""
    return json.loads((FOLDER / "fixtures.json").read_text(encoding="utf-8"))


def differences(fixture: dict, spells: list[dict]) -> tuple[int, list[str]]:
    """Hold the rows of one game's spells against a fixture: (values compared, differences)."""
    piece, k = fixture["piece"], fixture["k"]
    rows = sorted(
        (r for r in spells if r["piece"] == piece and r["k_low"] <= k <= r["k_high"]),
        key=lambda r: r["start_ply"],
    )
    expected = fixture["spells"]
    compared, found = 1, []
    if len(rows) != len(expected):
        found.append(f"{fixture['file']}: {len(expected)} spells of piece {piece} at k = {k} "
                     f"expected, got {len(rows)}")
    for row, want in zip(rows, expected):
        want = {"kind": fixture["kind"], "color": fixture["color"], **want}
        for name, value in want.items():
            compared += 1
            if row[name] != value:
                found.append(f"{fixture['file']}, start_ply {want['start_ply']}: {name}: "
                             f"expected {value!r}, got {row[name]!r}")
    return compared, found
