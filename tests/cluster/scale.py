"""What a large archive costs: the tables of pipeline/cluster/SCALE.md, worked out anew.

    tests/cluster/run scale

Each row says how it was come by: measured here, or multiplied out of measured ones.
"""

import json
import os
import resource
import subprocess
import sys
from pathlib import Path

import zstandard

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "open-archive"))
from repeated import CLAIM, TIMES, claim, cost, repeated  # noqa: E402

HOBBLE = os.environ["HOBBLE"]
ALL_GAMES = 7e9
CORES = 16
# As scan_job.py cuts archives.
STRIPE_BYTES = 4 << 30
LARGE = 200  # GB of text in one archive


def cpu_seconds(command):
    """CPU seconds of a program and what it starts."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(list(map(str, command)), check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def questions(whole, folder):
    """Prints what a claim and a grid of claims cost: over the archive, thirty times the archive, and many games."""
    games = json.loads((whole / "manifest.json").read_text())["sources"][0]["read"]
    for times in (1, TIMES):
        repeated(whole, folder / f"times-{times}", times)
    state = folder / "claim.state"
    subprocess.run([HOBBLE, "ask", CLAIM, "--data", folder / f"times-{TIMES}", "--state", state], check=True, stdout=subprocess.DEVNULL)
    costs = {times: claim(HOBBLE, folder / f"times-{times}") for times in (1, TIMES)}
    table_of_question(f"the claim `{CLAIM}`", games, costs)
    row_of_state("its state in a file", state, games * TIMES)
    costs = {times: grid(folder, times) for times in (1, TIMES)}
    table_of_question("the grid that comes with the program", games, costs)
    moves, found, locked = states_of_grid(folder)
    # Moves that are alike are kept once, and the archive's games are the same each time it stands there.
    row_of_state(f"first count, which moves both halves have: **{moves.stat().st_size / games:.1f} bytes a game**", moves, games)
    row_of_state("second count, the half in which claims are looked for", found, games * TIMES)
    row_of_state("third count, the locked half", locked, games * TIMES)


def grid(folder, times):
    """What a grid of claims costs; the locked half is opened in a ledger of this check."""
    ledger, out = folder / f"ledger-{times}.json", folder / f"sifted-{times}"
    return cost([HOBBLE, "sift", "--data", folder / f"times-{times}", "--ledger", ledger, "--out", out])


def states_of_grid(folder):
    """Files of the three counts of a grid over thirty times the archive."""
    moves, found, opened, locked = (folder / f"{name}.state" for name in ("moves", "found", "opened", "locked"))
    counted = [HOBBLE, "sift", "--data", folder / f"times-{TIMES}"]
    for more in (
        ["--state", moves],
        ["--first", moves, "--state", found],
        ["--first", found, "--open", opened, "--ledger", folder / "ledger.json"],
        ["--first", opened, "--state", locked],
    ):
        subprocess.run([*counted, *more], check=True, stdout=subprocess.DEVNULL)
    return moves, found, locked


def row_of_state(what, state, games):
    print(f"| {what} | | {state.stat().st_size / 1e6:.1f} MB | measured, of {games / 1e6:.1f} million games |", flush=True)


def table_of_question(name, games, costs):
    """Prints the costs of a question by how many times the archive stands there."""
    million = (costs[TIMES][1] - costs[1][1]) / (TIMES - 1) / games * 1e6
    memory = f"{costs[TIMES][0] / 1e6:.0f} MB a share of {games * TIMES / 1e6:.1f} million games"
    print(f"\n| {name} | CPU time | memory | |\n| --- | --- | --- | --- |")
    for times, (most, seconds) in costs.items():
        print(f"| {games * times / 1e6:.1f} million games | {seconds:.1f} s | {most / 1e6:.0f} MB | measured |")
    print(f"| a million games more | **{million:.1f} s** | | measured: the difference of the two |")
    for many in (100e6, ALL_GAMES):
        print(f"| {many / 1e6:,.0f} million games | {duration(many / 1e6 * million)} on one core | {memory} | extrapolated, not run |")


def duration(seconds):
    return f"{seconds / 3600:.1f} h" if seconds >= 3600 else f"{seconds / 60:.0f} min"


def compressed(archive, to):
    with open(archive, "rb") as text, open(to, "wb") as packed:
        zstandard.ZstdCompressor(level=3).copy_stream(text, packed)


def tables_of_costs(archive, whole, folder):
    """Scans an archive into `whole` on one core, and prints the tables."""
    scan = cpu_seconds([HOBBLE, "scan", archive, "--out", whole, "--threads", "1"])
    packed = folder / "packed.pgn.zst"
    compressed(archive, packed)
    none = folder / "none.csv"
    none.write_text("# pass none\ngame,key,original_source,original_game\n")
    keys = cpu_seconds([HOBBLE, "keys", archive, "--out", folder / "keys", "--threads", "1"])
    # A stripe that has no part of so small an archive: it is read, and nothing followed.
    reading = [
        cpu_seconds([HOBBLE, "scan", file, "--out", folder / f"none-{file.suffix}", "--stripe", "60/64", "--threads", "1", "--repeats-list", none])
        for file in (archive, packed)
    ]
    manifest = json.loads((whole / "manifest.json").read_text())
    (source,) = manifest["sources"]
    games, parts, text = source["read"], len(source["parts"]), archive.stat().st_size
    follow = scan - reading[0]

    text_7 = text / games * ALL_GAMES
    follow_7 = follow / games * ALL_GAMES
    part_text = manifest["parameters"]["block_bytes"] * manifest["parameters"]["part_blocks"]
    parts_7 = text_7 / part_text
    # The cube of a part, before all are added up to one; a part of its own size, not the short one
    # at the end.
    half = folder / "half"
    cpu_seconds([HOBBLE, "scan", archive, "--out", half, "--stripe", "0/2", "--tables", "exposure", "--repeats-list", none])
    cube = json.loads((half / "manifest.json").read_text())["sources"][0]["parts"][0]["tables"]["exposure"]
    one = manifest["tables"]["exposure"]
    size = lambda table: manifest["tables"][table]["bytes"]  # noqa: E731
    rest = sum(size(t) for t in manifest["tables"] if t != "exposure")
    all_7 = rest / games * ALL_GAMES + cube["bytes"] * parts_7
    manifest_7 = (whole / "manifest.json").stat().st_size / parts * parts_7
    hours = lambda nodes: follow_7 / 3600 / CORES / nodes  # noqa: E731
    per_gb = [seconds / text * 1e9 for seconds in reading]
    task_games = STRIPE_BYTES / packed.stat().st_size * games
    task_out = rest / games * task_games + cube["bytes"] * task_games * text / games / part_text

    print("\n| what | figure | |\n| --- | --- | --- |")
    rows = [
        ("reading alone: cutting and hashing plain text", f"{per_gb[0]:.1f} CPU s a GB of text", "measured: a stripe without parts"),
        ("the same from .zst", f"{per_gb[1]:.1f} CPU s a GB of text", "measured the same way"),
        ("following games, all tables, on one core", f"**{follow / games * 1e6:.0f} CPU s a million games**, {follow:.0f} in all", "measured: a scan less its reading"),
        ("first pass for repeats: keys of all games", f"{(keys - reading[0]) / games * 1e6:.1f} CPU s a million games beside reading", "measured"),
        ("text of a game", f"{text / games:.0f} bytes", "measured"),
        ("7 billion games: text", f"{text_7 / 1e12:.1f} TB", "extrapolated"),
        ("7 billion games: following", f"{follow_7 / 1e6:.1f} million CPU s, {follow_7 / 3600:.0f} core hours", "extrapolated"),
        *((f"… on {n} node{'s' * (n > 1)} of {CORES} cores", duration(hours(n) * 3600), "extrapolated, all cores kept busy") for n in (1, 10, 100)),
        ("share of reading in an undivided scan", f"{reading[0] / scan:.1%}; from .zst {reading[1] / (follow + reading[1]):.1%}", "measured"),
        (f"reading {LARGE} GB of text, as each stripe of such an archive does", f"{duration(per_gb[0] * LARGE)}; from .zst {duration(per_gb[1] * LARGE)}", "extrapolated"),
        ("stripes of one archive at which each reads as long as it follows", f"{follow / reading[0]:.0f}; from .zst {follow / reading[1]:.0f}", "extrapolated"),
        ("a task of 4 GiB of .zst", f"{task_games / 1e6:.0f} million games, {duration(follow / games * task_games)} on one core, {task_out / 1e9:.0f} GB of local disk", "extrapolated"),
        ("writing by 100 nodes", f"{all_7 / hours(100) / 3600 / 1e9:.0f} GB a second", "extrapolated"),
    ]  # fmt: skip
    for row in rows:
        print("| " + " | ".join(row) + " |")

    print("\n| table | bytes a game | 7 billion games |\n| --- | --- | --- |")
    for table in ("games", "moves", "spells", "turns", "decisions", "sides"):
        each = size(table) / games
        print(f"| {table} | {each:.0f} | {each * ALL_GAMES / 1e12:.2f} TB |")
    print(f"| exposure in parts, as on a store | {cube['bytes'] / 1e6:.1f} MB and {cube['rows']:,} rows a part of {part_text >> 20} MiB of text | {cube['bytes'] * parts_7 / 1e12:.2f} TB, {cube['rows'] * parts_7 / 1e9:.0f} billion rows in {parts_7:,.0f} parts |")
    print(f"| exposure, joined to one cube in a folder | {one['bytes'] / 1e6:.1f} MB and {one['rows']:,} rows in all | grows little: the keys are few |")
    print(f"| manifest | {manifest_7 / parts_7 / 1e3:.1f} kB a part | {manifest_7 / 1e6:.0f} MB |")
    less = size("games") / games * ALL_GAMES + cube["bytes"] * parts_7
    print(f"| games and exposure alone | {less / ALL_GAMES:.0f} | {less / 1e12:.2f} TB |")
    print(f"| all | {all_7 / ALL_GAMES:.0f}, {all_7 / text_7:.1f} × the text | {all_7 / 1e12:.1f} TB |\n", flush=True)
