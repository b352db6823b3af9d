"""Questions about some games and sides, against the same questions asked of tables that hold no others.

For each filter the rows of `spells`, `turns`, `decisions` and `sides` are cut down with pyarrow (PyPI `pyarrow`) to the
sides that a condition in SQL picks (DuckDB, PyPI `duckdb`), and the whole games are copied. A question without the filter
on these tables must give the same answer as the question with it on all of them. The report by rating band reads held turns
from elsewhere where sides are chosen: its totals are counted by SQL. A player's report is held against a scan of the same
games, cut out of the archive by their tags.

Prints a line for each check.
"""

import hashlib
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

import by_player
import per_side
import tables
from report import Check, argument_parser

ROOT = pathlib.Path(__file__).resolve().parents[2]
WITH_SIDES = ["spells", "turns", "decisions", "sides"]
# The filter as a question file has it, and the sides it stands for.
FILTERS = {
    'since = "2024"': "game_date >= '2024.01.01' and game_date not like '%?%'",
    'until = "2023-10-15"': "game_date <= '2023.10.15' and game_date not like '%?%'",
    'event = ["orrick vale LEAGUE", "Lantern*"]': "event = 'Orrick Vale League' or event like 'Lantern%'",
    'player = ["Orla Windlass", "Burdock, Ulf"]': "player_key in (select player_key from named)",
    'player_title = ["none"]': "title is null",
    'rating_diff = ["50..199", ">=200"]': "rating_diff in ('50..199', '>=200')",
    'eco = ["b9*", "C42", "none"]': "eco is null or eco like 'B9%' or eco = 'C42'",
    'opponent_band = ["1600-1799", "unrated"]': "opponent_rating between 1600 and 1799 or opponent_band = 'unrated'",
    'repeats = "no"\nevent = ["Thursday Blitz Ladder"]\nrating_diff = ["-49..49"]': "not is_repeat and event = 'Thursday Blitz Ladder' and rating_diff = '-49..49'",
}
NAMED = """
create view named as
select distinct s.player_key from sides s join games g using (source, game)
where case s.color when 'white' then g.white else g.black end in ('Windlass, Orla', 'Burdock, Ulf')
"""
QUESTIONS = {
    "comparison": 'title = "T"\ntext = "x"\nstrata = ["kind", "phase"]\nk = 2\nexamples = 2\n',
    "claim": 'about = "claim"\ntitle = "T"\ntext = "x"\nkinds = ["knight", "bishop", "rook"]\nk = 2\nrestrained = "yes"\n',
    "sides": 'about = "sides"\ntitle = "T"\ntext = "x"\nk = 2\n',
}
BANDS = 'about = "bands"\ntitle = "T"\ntext = "x"\nk = 2\nwithin = 10\ndeveloped = "yes"\nminimum_turns = 20\nminimum_games = 5\n'


def ask(hobble, data, question, *options):
    with tempfile.NamedTemporaryFile("w", suffix=".toml") as file:
        file.write(f"format = 1\n{question}")
        file.flush()
        command = [hobble, "ask", file.name, "--data", data, "--format", "json", *options]
        done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    return json.loads(done.stdout) if done.returncode == 0 else done.stderr.strip()


# What is said of the tables and the filter, and the claim's own words.
APART = ("dataset", "question", "claim", "notes", "parameters", "hobble")


def of_tables(answer):
    """An answer without what is said of the tables and the filter: a digest for each of its fields."""
    text = {name: json.dumps(value, sort_keys=True) for name, value in answer.items() if name not in APART}
    return {name: hashlib.sha256(value.encode()).hexdigest()[:16] for name, value in text.items()}


def cut_down(data, chosen, out):
    """A copy of the tables with the rows of the chosen sides alone."""
    shutil.copytree(data, out, ignore=shutil.ignore_patterns(*tables.TABLES, ".lock"))
    for name in tables.TABLES:
        for file in (pathlib.Path(data) / name).rglob("*.parquet"):
            target = pathlib.Path(out) / file.relative_to(data)
            target.parent.mkdir(parents=True, exist_ok=True)
            if name not in WITH_SIDES:
                shutil.copy(file, target)
                continue
            rows = pq.ParquetFile(file).read()
            source = re.search(r"source=([^/]*)", str(file)).group(1)
            mine = pa.array([f"{game} {color}" for of, game, color in chosen if of == source], pa.string())
            color = rows["color"].cast(pa.string())
            keys = pc.binary_join_element_wise(rows["game"].cast(pa.string()), color, " ")
            pq.write_table(rows.filter(pc.is_in(keys, mine)), target, compression="zstd")


def check_bands(answer, data, sample, check, where):
    """Totals of the report from the cut-down tables; held turns from the sampled rows of `turns`."""
    con = tables.connect(data)
    given = by_player.measures(2, 10, "yes", sample)
    del given["held_share"], given["loss_risk"]
    for measure, (events, trials) in given.items():
        for split, level in by_player.SPLITS.items():
            if measure == "spells_lost" and split in ("band", "time_class"):
                continue  # The report has the loss risk there.
            sums = con.execute(f"select {level}, sum({events}), sum({trials}) from sides group by all").fetchall()
            for name, e, t in sums:
                compare(answer, (measure, split, name), (e, t), check, where)
    per_side.count(con, 2, 10, "yes", sample)
    by_player.check_two_way(answer, by_player.ByPlayer(con, 2, 10, "yes", chosen=True), check, where)
    lost = "fate = 'lost' and fate_ply::int - ply::int <= 20"
    for split in ("'all'", "band", "time_class", "phase", "kind"):
        sums = con.execute(
            f"""select {split}, {sample} * count(*), {sample} * count(*) filter (safe <= 2),
                       {sample} * count(*) filter (safe <= 2 and {lost}) from turns where sampled group by all"""
        ).fetchall()
        for name, turns, held, gone in sums:
            split_name = split.strip("'")
            compare(answer, ("held_share", split_name, name), (held, turns), check, where)
            compare(answer, ("loss_risk", split_name, name), (gone, held), check, where)


def compare(answer, place, counts, check, where):
    measure, split, level = place
    cells = [c for c in answer["cells"] if (c["measure"], c["split"], c["level"]) == place]
    cells = [c for c in cells if c["kind"] == ("all" if split != "kind" else level)]
    events, trials = map(int, counts)
    per = 1000 if measure == "chances_at_random" else 1
    name = f"{where}: {measure} {split} {level}"
    check.equal(f"{name} n", cells[0]["n"] if cells else 0, trials // per)
    if cells and cells[0]["estimate"] is not None:
        check.close(name, cells[0]["estimate"], events / trials)


def games_with(archive, wanted):
    """The games of an archive of which a tag line fits, as text."""
    games = re.split(r"(?m)^(?=\[Event )", pathlib.Path(archive).read_text())
    return "".join(game for game in games if re.search(wanted, game, re.MULTILINE))


def check_player(hobble, data, archive, label, work):
    check = Check(f"chosen sides: a player's report, {label}", "the same games scanned alone")
    of = ["--player", "Windlass, Orla", "--alias", "Windlass, O."]
    habits = 'about = "player"\ntitle = "T"\ntext = "x"\nreplies_turns = 40\n'
    for lines, wanted in {
        'event = ["Orrick Vale League"]': r'^\[Event "Orrick Vale League"\]',
        'since = "2024"': r'^\[Date "2024',
    }.items():
        name = re.sub(r"\W+", "-", lines)
        pgn = work / f"{name}.pgn"
        pgn.write_text(games_with(archive, wanted))
        subprocess.run([hobble, "scan", pgn, "--out", work / name], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
        whole = ask(hobble, data, habits + lines, *of)
        alone = ask(hobble, work / name, habits, *of)
        for field in ("sections", "groups", "trend", "peers", "replies", "prevention", "left", "verdicts"):
            check.equal(f"{lines} {field}", json.dumps(whole[field]), json.dumps(alone[field]))
    refused = ask(hobble, data, habits + 'until = "1999"', *of)
    check.equal("no game left", "Games until: 1999" in refused, True)
    check.report()


def main():
    parser = argument_parser(__doc__)
    parser.add_argument("--archive", required=True, help="the archive that the tables were made from")
    given = parser.parse_args()
    con = tables.connect(given.data)
    con.execute(NAMED)
    sample = json.loads((pathlib.Path(given.data) / "manifest.json").read_text())["parameters"]["sample"]
    same = Check(f"chosen sides: questions on tables with no other rows, {given.label}", "pyarrow, DuckDB")
    totals = Check(f"chosen sides: totals of the report by band, {given.label}", "DuckDB", tolerance=1e-12)
    with tempfile.TemporaryDirectory() as folder:
        work = pathlib.Path(folder)
        for number, (lines, condition) in enumerate(FILTERS.items()):
            chosen = con.execute(f"select source, game, color from sides where {condition}").fetchall()
            cut = work / f"cut-{number}"
            cut_down(given.data, chosen, cut)
            for name, question in QUESTIONS.items():
                ours, theirs = ask(given.hobble, given.data, question + lines), ask(given.hobble, cut, question)
                ours_by_field, theirs_by_field = of_tables(ours), of_tables(theirs)
                for field in ours_by_field.keys() | theirs_by_field.keys():
                    same.equal(f"{lines!r} {name} {field}", ours_by_field.get(field), theirs_by_field.get(field))
                same.equal(f"{lines!r} {name} sides", ours["dataset"]["chosen"]["sides"], len(chosen))
            check_bands(ask(given.hobble, given.data, BANDS + lines), cut, sample, totals, repr(lines))
        same.report()
        totals.report()
        check_player(given.hobble, given.data, given.archive, given.label, work)
    return Check.total_differences > 0


if __name__ == "__main__":
    sys.exit(main())
