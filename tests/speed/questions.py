"""Times the shipped questions against DuckDB counting the same from the same tables.

    python questions.py --data DIR [--rounds 5]       a line a question
    python questions.py --data DIR --count NAME       DuckDB's counts alone, as one line of JSON

DuckDB makes the counts that an answer rests on: comparisons by rows, strata, fold and side; claims
with their curve, ends and scores; the report by rating band with the phase of every move; a player's
habits beside peers; positions of whole sides. The SQL is made from the question file, or is that of
`tests/statistics`, where the same counts are held against the answers. Examples and their boards,
replies played out, intervals and tests, which the program adds, are not asked of DuckDB.

Each measurement is a process of its own, the two sides taking turns, after one round that is
not counted and warms the cache for both. Of DuckDB the start of Python and the import are
left out; of the program nothing is.
"""

import argparse
import json
import os
import pathlib
import resource
import subprocess
import sys
import time
import tomllib

from inputs import ROOT

QUESTIONS = ROOT / "notebooks-free-reports"
# Defaults as in schemas/question.schema.json.
SCHEMA = json.loads((ROOT / "schemas" / "question.schema.json").read_text(encoding="utf-8"))
DEFAULTS = {
    name: field["default"] for name, field in SCHEMA["properties"].items() if "default" in field
}
HORIZONS = [3, 5, 10, 15, 20]
# What is kept of a claim's spells, beside their strata.
KEPT = ("source, game, color, fold, k_low, k_high, turns, start_ply, plies_left, fate, fate_ply, "
        "ended, end_by, moved_away, balance, material_3, material_5, material_10")


def shipped() -> list[pathlib.Path]:
    """The questions that come with the program."""
    return sorted(QUESTIONS.glob("*.toml"))


def asked(name: str) -> dict:
    """A shipped question."""
    return tomllib.loads((QUESTIONS / f"{name}.toml").read_text(encoding="utf-8"))


def can_ask(hobble: str) -> bool:
    """Whether this program answers questions."""
    done = subprocess.run([hobble, "ask", "--help"], capture_output=True, check=False)
    return done.returncode == 0


def count_comparison(connection, question: dict, data, _player):
    """Turns by group, strata, fold and side, as the recount has them."""
    import cells

    question = DEFAULTS | question
    return cells.cells(connection, question, question["k"], [question["within"]], sample(data))


def sample(data) -> int:
    """One turn in so many is in the sample of a scan."""
    manifest = json.loads((pathlib.Path(data) / "manifest.json").read_text(encoding="utf-8"))
    return manifest["parameters"]["sample"]


def count_claim(connection, claim: dict, data, _player):
    """Spells once, kept; from them curve, ends and scores; the evidence from the rows of turns."""
    import claims
    import evidence

    k, turns, within = claim.get("k", 2), claim.get("turns", 1), claim.get("within", 10)
    connection.execute(f"create temp table kept as select {KEPT} from spells where {claims.where(claim)}")
    found = evidence.Evidence(connection, claim, sample(data))
    # What becomes of the side is counted by the program alone: here a fate of the piece stands for it.
    own = claim.get("outcome", "lost")
    own = own if own in evidence.FATES else "lost"
    choices = [(k, 2, n, own) for n in HORIZONS] + [(n, 2, within, own) for n in range(5)]
    choices += [(k, n, within, own) for n in range(2, 6)] + [(k, 2, within, fates) for fates in evidence.FATES]
    rows = [
        found.of({"k": a_k, "turns": a_turns, "within": a_within, "outcome": fates, "varied": "within"})
        for a_k, a_turns, a_within, fates in choices
    ]
    found.guards()
    found.twins()
    spells = f"(select * from kept where k_low <= {k} and {k} <= k_high and turns >= {turns})"
    zero = f"(start_ply::int + 2 * ({turns} - 1))"
    points = []
    for moves in range(1, 21):
        met = f"fate_ply::int - {zero} <= 2 * {moves}"
        points += [f"count(*) filter (fate = '{fate}' and {met})" for fate in ("lost", "traded", "sold")]
        points.append(f"count(*) filter (fate = 'survived' and "
                      f"start_ply::int + plies_left::int < {zero} + 2 * {moves})")
    points += [f"count(*) filter ({end})" for end in claims.ENDS]
    points += [f"count(*) filter (material_{n} <= -2 or (fate = 'lost' and "
               f"fate_ply::int - start_ply::int <= 2 * {n}))" for n in (3, 5, 10)]
    connection.execute(f"select fold, {', '.join(points)} from {spells} group by all").fetchall()
    for level in ("true", "abs(balance) <= 1"):
        connection.execute(claims.scores_sql(spells, level)).fetchall()
    return rows


def count_bands(_connection, report: dict, data, _player):
    """Spells, moves, sides and the cube, as the recount of the report has them."""
    import bands

    recount = bands.Recount(data, report.get("k", 2), report.get("within", 10),
                            report.get("developed", "any"))
    return recount.tables["moves"].rows()


def count_habits(connection, habits: dict, data, player):
    """The player's and the peers' spells by side, as the recount of a player has them."""
    import habits as recount

    # The recount makes a table of this name; here all tables are views.
    for view in ("games", "spells", "moves", "sides"):
        connection.execute(f"drop view if exists {view}")
    recount.tables(connection, data)
    recount.counts(connection, {
        "parameters": {"k": habits.get("k", 2), "within": habits.get("within", 10),
                       "long": habits.get("long", 3)},
        "player": {"name": player, "aliases": []},
        "peers": {"from": "others"},
    })
    return connection.execute("select own, band, time_class, color, eco, fold, count(*), "
                              "sum(n_held), sum(n_lost_within) from counted group by all").fetchall()


def count_sides(connection, question: dict, _data, _player):
    """Positions with their squares, material and results, as the recount has them."""
    import sides

    defaults = {"from_ply": 20, "to_ply": 80, "k": 2, "within": 10}
    asked = {name: question.get(name, default) for name, default in defaults.items()}
    return [sides.Positions(connection, asked).account]


COUNTS = {"comparison": count_comparison, "claim": count_claim, "bands": count_bands,
          "player": count_habits, "sides": count_sides}


def count(name: str, data: pathlib.Path, player: str) -> dict:
    """DuckDB's counts of one question, and what they took."""
    sys.path.insert(0, str(ROOT / "tests" / "statistics"))
    question = asked(name)
    counted = COUNTS[question.get("about", "comparison")]
    import tables  # DuckDB

    import bands, cells, claims, habits, sides  # noqa: E401, F401: their imports are not timed

    start, before = time.perf_counter(), cpu()
    with tables.connect(data) as connection:
        rows = counted(connection, question, data, player)
    took = {"wall": time.perf_counter() - start, "cpu": cpu() - before}
    if not rows:
        raise SystemExit(f"DuckDB counts nothing for {name}")
    return took


def cpu() -> float:
    """Seconds of CPU this process has used, all threads."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def time_duckdb(name: str, data: pathlib.Path, player: str) -> dict:
    """What DuckDB takes, in a process of its own."""
    done = subprocess.run(
        [sys.executable, __file__, "--data", data, "--count", name, "--player", player],
        stdout=subprocess.PIPE, text=True, check=True, env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"},
    )
    return json.loads(done.stdout)


def time_hobble(hobble: str, name: str, data: pathlib.Path, player: str) -> dict:
    """What the program takes, from its start to its end."""
    command = [hobble, "ask", name, "--data", data, "--format", "json"]
    if asked(name).get("about") == "player":
        command += ["--player", player]
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise SystemExit(f"hobble ask {name}: broke off")
    return {"wall": wall, "cpu": used.ru_utime + used.ru_stime}


def most_frequent_player(data: pathlib.Path) -> str:
    """The name that stands in most games."""
    import duckdb

    games = f"'{data}/games/**/*.parquet'"
    return duckdb.execute(
        f"select name from (select white as name from {games} union all select black from {games}) "
        "where name is not null group by name order by count(*) desc, name limit 1").fetchone()[0]


# Counts of DuckDB that take so many seconds are made once: beside them a warm cache saves nothing.
LONG = 30


def measure(hobble: str, data: pathlib.Path, rounds: int):
    """(name, the program's wall and CPU times, DuckDB's) of each question, a round a place."""
    player = most_frequent_player(data)
    for path in shipped():
        name = path.stem
        ours, theirs = [], []
        for _ in range(1 + rounds):
            ours.append(time_hobble(hobble, name, data, player))
            again = not theirs or theirs[0]["wall"] < LONG
            theirs.append(time_duckdb(name, data, player) if again else theirs[0])
        # The first round warms the cache.
        yield name, ours[1:], theirs[1:]


def main():
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=pathlib.Path, required=True)
    parser.add_argument("--count", metavar="NAME")
    parser.add_argument("--player", default="")
    parser.add_argument("--hobble", default=str(ROOT / "target" / "release" / "hobble"))
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    if given.count:
        print(json.dumps(count(given.count, given.data, given.player)))
        return
    from report import Report

    report = Report(binding=True)
    judge(report, measure(given.hobble, given.data, given.rounds))
    print(report.markdown(), end="")
    sys.exit(report.failed)


def judge(report, measured):
    """A table of both, and a line for each question and target."""
    from report import median

    rows = []
    for name, ours, theirs in measured:
        of = lambda side, what: median([one[what] for one in side])
        wall = of(ours, "wall")
        ratio = median([a["wall"] / b["wall"] for a, b in zip(ours, theirs)])
        rows.append([f"`{name}`", *(f"{of(side, what):.3f}" for side in (ours, theirs)
                                    for what in ("wall", "cpu"))])
        report.target(f"`{name}` under 1 s", f"{wall:.3f} s", wall < 1)
        report.target(f"`{name}` no slower than DuckDB on the same counts",
                      f"{ratio:.2f} × DuckDB's time", ratio <= 1)
    report.table(["question", "`hobble ask`, s", "its CPU, s", "DuckDB, s", "its CPU, s"], rows)


if __name__ == "__main__":
    main()
