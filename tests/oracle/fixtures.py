"""The hand-made fixtures, and how a table's rows are held against them."""

import json
from pathlib import Path

FOLDER = Path(__file__).resolve().parent / "fixtures"
RUNS = Path(__file__).resolve().parent / "capture-runs"


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


def load_runs() -> list[dict]:
    """What capture-runs/captures.json says, in order."""
    return json.loads((RUNS / "captures.json").read_text(encoding="utf-8"))


def capture_differences(fixture: dict, moves: list[dict]) -> tuple[int, list[str]]:
    """Hold the rows of one game's moves against a fixture: (values compared, differences)."""
    rows = sorted((r for r in moves if r["captured"] is not None), key=lambda r: r["ply"])
    got = [(r["ply"], r["captured"], r["captured_fate"], r["captured_net"]) for r in rows]
    expected = [(c["ply"], c["captured"], c["fate"], c["net"]) for c in fixture["captures"]]
    found = [f"{fixture['file']}: expected {want}, got {have}"
             for want, have in zip(expected, got) if want != have]
    if len(got) != len(expected):
        found.append(f"{fixture['file']}: {len(expected)} captures expected, got {len(got)}")
    return 1 + 4 * len(expected), found
