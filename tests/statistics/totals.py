"""Every total of a scan, recounted by DuckDB (PyPI `duckdb`) from the Parquet files.

Compared are all numbers of manifest.json, of each part, each source and the whole; every
line that `hobble scan` prints of them; the versions in the key-value pairs of every file; and
the totals an answer of `hobble ask` carries. A number that no recount speaks of counts as a
difference, so a new total cannot go unchecked. Not recounted, because the tables do not have
them: the parameters the scan was started with, and `end_block`.

File sizes are the file system's, the archive's SHA-256 is Python's hashlib.

Prints a line for each check.
"""

import argparse
import hashlib
import json
import pathlib
import re
import subprocess
import sys

import tables
from report import Check

ROOT = pathlib.Path(__file__).resolve().parents[2]
ALL_SOURCES = "all"  # the source of files that are of all sources together
NOT_IN_TABLES = re.compile(r"parameters\..*|sources\.\d+\.parts\.\d+\.end_block")

# Turns × pieces, from games and moves alone: before each ply the knights, bishops, rooks and
# queens its mover has, those of the start less captures plus promotions.
OBSERVATIONS = r"""
    with starts as (
        select source, part, game,
               coalesce(split_part(start_fen, ' ', 2), 'w') as first,
               case when start_fen is null then 7 else
                 length(regexp_replace(split_part(start_fen, ' ', 1), '[^NBRQ]', '', 'g')) end as white,
               case when start_fen is null then 7 else
                 length(regexp_replace(split_part(start_fen, ' ', 1), '[^nbrq]', '', 'g')) end as black
        from games
    ),
    plies as (
        select s.source, s.part, s.white, s.black, m.game, m.ply,
               ((s.first = 'w') = (m.ply % 2 = 1)) as by_white,
               coalesce(m.captured <> 'pawn', false)::int as captured,
               (m.promotion is not null)::int as promoted
        from moves m join starts s using (source, game)
    ),
    counted as (
        select source, part,
               case when by_white then white else black end
               + coalesce(sum(case when by_white then promoted else -captured end) over before, 0)
                 * case when by_white then 1 else 0 end
               + coalesce(sum(case when by_white then -captured else promoted end) over before, 0)
                 * case when by_white then 0 else 1 end as pieces
        from plies
        window before as (partition by source, game order by ply
                          rows between unbounded preceding and 1 preceding)
    )
    select source, part, sum(pieces)::bigint from counted group by all
"""


def by_part(con, sql):
    """Rows of (source, part, …) as a dictionary from (source, part)."""
    return {(row[0], row[1]): row[2:] for row in con.execute(sql).fetchall()}


def by_word(con, table, column):
    """Counts of the words of a column, by (source, part)."""
    found = {}
    for source, part, word, count in con.execute(
        f'select source, part, "{column}", count(*) from {table} group by all order by 3'
    ).fetchall():
        found.setdefault((source, part), {})[word] = count
    return found


class Recount:
    """Accounts and sizes from the tables: of parts, by (source, part)."""

    def __init__(self, con, data):
        self.data = pathlib.Path(data)
        games = by_part(
            con,
            """select source, part, count(*), sum(plies), sum(captures), sum(en_passant),
                      sum(promotions), sum(castlings), count(*) filter (plies = 0), max(plies),
                      count(*) filter (white_rating is not null or black_rating is not null),
                      count(*) filter (repaired), sum(unread_tags), count(*) filter (stray_text),
                      sum(clocks), sum(evals)
               from games group by all""",
        )
        moves = by_part(
            con,
            """select source, part, count(*), count(captured), count(*) filter (en_passant),
                      count(promotion), count(*) filter (castling), count(clock),
                      count(*) filter (eval is not null or mate is not null)
               from moves group by all""",
        )
        # One cube for all parts.
        self.turns = con.execute("select coalesce(sum(turns), 0)::bigint from exposure").fetchone()[0]
        counted = by_part(con, OBSERVATIONS)
        results = by_word(con, "games", "result")
        skipped = by_word(con, "skipped", "reason")
        ends = by_word(con, "spells", "ended")
        self.games_of_file = dict(con.execute(
            "select file, count(*) from (select file from games union all select file from skipped) group by file"
        ).fetchall())
        self.sizes = {}
        for table in tables.TABLES:
            rows = by_part(con, f"select source, part, count(*) from {table} group by all")
            for path in sorted(self.data.glob(f"{table}/source=*/part-*.parquet")):
                source = path.parent.name.removeprefix("source=")
                key = (source, int(path.stem.removeprefix("part-")))
                size = {"rows": rows.get(key, (0,))[0], "bytes": path.stat().st_size}
                self.sizes.setdefault(key, {})[table] = size
        self.accounts, self.second = {}, {}
        for key in self.sizes:
            if key[0] == ALL_SOURCES:
                continue
            (kept, plies, captures, passing, promotions, castlings, empty, longest, rated,
             repaired, unread_tags, stray_texts, clocks, evals) = games.get(key, (0,) * 14)
            left_out = dict(skipped.get(key, {}))
            repeats = left_out.pop("repeat", 0)
            self.accounts[key] = {
                "read": kept + repeats + sum(left_out.values()),
                "kept": kept,
                "repeats": repeats,
                "skipped": left_out,
                "plies": plies,
                "captures": captures,
                "en_passant": passing,
                "promotions": promotions,
                "castlings": castlings,
                "zero_move_games": empty,
                "longest": longest,
                "results": results.get(key, {}),
                "rated_games": rated,
                "repaired_games": repaired,
                "unread_tags": unread_tags,
                "stray_texts": stray_texts,
                "clocks": clocks,
                "evals": evals,
                "spells": ends.get(key, {}),
                "observations": counted.get(key, (0,))[0],
            }
            names = ["plies", "captures", "en_passant", "promotions", "castlings", "clocks", "evals"]
            self.second[key] = dict(zip(names, moves.get(key, (0,) * 7)))


def add(accounts):
    """Accounts added up; the longest is the longest of all."""
    sums = {}
    for account in accounts:
        for name, value in account.items():
            if isinstance(value, dict):
                words = sums.setdefault(name, {})
                for word, count in value.items():
                    words[word] = words.get(word, 0) + count
            elif name == "longest":
                sums[name] = max(sums.get(name, 0), value)
            else:
                sums[name] = sums.get(name, 0) + value
    return sums


def flat(value, path=""):
    """Every leaf of nested lists and dictionaries, by its path."""
    if isinstance(value, dict):
        for name, part in value.items():
            yield from flat(part, f"{path}.{name}" if path else name)
    elif isinstance(value, list):
        for number, part in enumerate(value):
            yield from flat(part, f"{path}.{number}" if path else str(number))
    else:
        yield path, value


def sha256(path):
    digest = hashlib.sha256()
    with open(path, "rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()


def file_expected(file):
    """What the manifest says of a file as it lies there."""
    about = file.stat()
    return {"bytes": about.st_size, "sha256": sha256(file), "modified": about.st_mtime_ns}


def bundle_expected(recount, source, base):
    """What the manifest says of the files of a bundle, and of all of them together."""
    files = []
    for named in source["bundle"]:
        found = file_expected(base / named["file"])
        files.append({**found, "games": recount.games_of_file.get(named["file"], 0)})
    hashes = "".join(f"{file['sha256']}\n" for file in files)
    return {
        "bundle": files,
        "bytes": sum(file["bytes"] for file in files),
        "sha256": hashlib.sha256(hashes.encode()).hexdigest(),
    }


def manifest_expected(recount, manifest, base):
    """The manifest as the tables, the files and the schemas would have it."""
    expected = {"schemas": {}, "sources": [], "tables": {}}
    for table in tables.TABLES:
        schema = json.loads((ROOT / "schemas" / f"{table}.json").read_text())
        expected["schemas"][table] = schema["schema"]
        expected["definitions"] = schema["definitions"]
    for source in manifest["sources"]:
        keys = sorted(key for key in recount.accounts if key[0] == source["source"])
        entry = add(recount.accounts[key] for key in keys)
        if "bundle" in source:
            entry.update(bundle_expected(recount, source, base))
        else:
            entry.update(file_expected(base / source["file"]))
        # Not in manifests of scans before it was kept.
        if "modified" not in source:
            entry.pop("modified", None)
        entry["parts"] = [
            {"part": part, "account": recount.accounts[name, part], "tables": recount.sizes[name, part]}
            for name, part in keys
        ]
        # What is not packed ends where the file does.
        if source["file"].endswith(".pgn"):
            entry["parts"][-1]["end_offset"] = entry["bytes"]
        expected["sources"].append(entry)
    cubes = {key: size for key, size in recount.sizes.items() if key[0] == ALL_SOURCES}
    for (_, part), size in cubes.items():
        for table, name in [("exposure", "cube"), ("players", "players")]:
            if table in size:
                expected[name] = {"part": part, **size[table]}
    for table in tables.TABLES:
        sizes = [size[table] for size in recount.sizes.values() if table in size]
        expected["tables"][table] = {
            name: sum(size[name] for size in sizes) for name in ["rows", "bytes"]
        }
    return expected


def compare_manifest(check, manifest, expected):
    """Every number of the manifest, and everything expected of it."""
    expected = dict(flat(expected))
    ours = dict(flat(manifest))
    for path in sorted(set(ours) | set(expected)):
        value = ours.get(path)
        if NOT_IN_TABLES.fullmatch(path):
            continue
        # Words and yes or no are not totals; but what is expected must be there.
        counted = isinstance(value, (int, float)) and not isinstance(value, bool)
        if counted or path in expected:
            # Where parts follow, the end of a part follows from the games: offsets() below.
            if path.endswith("end_offset") and path not in expected:
                continue
            check.equal(path, value, expected.get(path))


def offsets(con, manifest, check):
    """The games of a part start between the end of the part before and its own."""
    starts = by_part(
        con,
        """select source, part, min(byte_offset), max(byte_offset) from
             (select source, part, byte_offset from games union all
              select source, part, byte_offset from skipped) group by all""",
    )
    for source in manifest["sources"]:
        if "bundle" in source:
            continue  # games count from the start of their own file
        before = 0
        for part in source["parts"]:
            where = f"{source['source']} part {part['part']}"
            first, last = starts.get((source["source"], part["part"]), (before, before))
            inside = before <= first and last <= part["end_offset"]
            check.equal(f"{where} starts inside", inside, True)
            before = part["end_offset"]


def printed(account, sizes):
    """The lines a scan prints, white space evened out."""
    number = "{:,}".format
    left_out = sum(account["skipped"].values())
    lines = [
        f"games read {number(account['read'])}",
        f"games kept {number(account['kept'])}",
        f"repeats {number(account['repeats'])}",
        f"games skipped {number(left_out)}",
        *[f"{reason} {number(count)}" for reason, count in sorted(account["skipped"].items())],
        f"read = kept + repeats + skipped: {number(account['read'])} = {number(account['kept'])} + "
        f"{number(account['repeats'])} + {number(left_out)}: reconciles",
    ]
    for words, name in [
        ("plies", "plies"), ("captures", "captures"), ("en passant", "en_passant"),
        ("promotions", "promotions"), ("castlings", "castlings"),
        ("zero-move games", "zero_move_games"), ("longest game, plies", "longest"),
        ("games with a rating", "rated_games"), ("games with repaired text", "repaired_games"),
        ("tag lines not readable", "unread_tags"), ("games before stray text", "stray_texts"),
        ("clock comments", "clocks"), ("evaluation comments", "evals"),
        ("observations", "observations"),
    ]:
        lines.append(f"{words} {number(account[name])}")
    for words, name in [("results", "results"), ("spells by end", "spells")]:
        each = [f"{word} {number(count)}" for word, count in sorted(account[name].items())]
        lines.append(f"{words} {' · '.join(each)}")
    for table, size in sizes.items():
        lines.append(f"table {table} {number(size['rows'])} rows {number(size['bytes'])} bytes")
    return lines


def versions(con, data, manifest, check):
    """The key-value pairs of every file."""
    for table in tables.TABLES:
        expected = {
            "hobble.definitions": str(manifest["definitions"]),
            "hobble.schema": str(manifest["schemas"][table]),
            "hobble.version": manifest["hobble"],
        }
        found = {}
        for file, key, value in con.execute(
            "select file_name, key::varchar, value::varchar from parquet_kv_metadata(?)",
            [f"{data}/{table}/**/*.parquet"],
        ).fetchall():
            found.setdefault(file, {})[key] = value
        files = list(pathlib.Path(data).glob(f"{table}/source=*/part-*.parquet"))
        check.equal(f"files of {table}", len(found), len(files))
        for file, pairs in found.items():
            for key, value in expected.items():
                check.equal(f"{table} {pathlib.Path(file).name} {key}", pairs.get(key), value)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--data", required=True)
    parser.add_argument("--printed", required=True, help="file of what the scan printed")
    parser.add_argument("--base", default=".", type=pathlib.Path, help="folder of archive names")
    parser.add_argument("--label", required=True)
    arguments = parser.parse_args()
    con = tables.connect(arguments.data)
    manifest = json.loads((pathlib.Path(arguments.data) / "manifest.json").read_text())
    recount = Recount(con, arguments.data)

    def check(what, source):
        return Check(f"{what}, {arguments.label}", source)

    numbers = check("totals of manifest.json: parts, sources, tables", "DuckDB; hashlib; file sizes")
    compare_manifest(numbers, manifest, manifest_expected(recount, manifest, arguments.base))
    offsets(con, manifest, numbers)

    again = check("the same from plies: games and moves agree", "DuckDB, moves and pieces counted down")
    for key, second in recount.second.items():
        for name, count in second.items():
            again.equal(f"{key} {name}", recount.accounts[key][name], count)
    observed = sum(account["observations"] for account in recount.accounts.values())
    again.equal("turns in the cube", recount.turns, observed)

    lines = check("lines a scan prints", "DuckDB")
    text = pathlib.Path(arguments.printed).read_text()
    got = [" ".join(line.split()) for line in text.splitlines() if line.strip()]
    total = add(recount.accounts.values())
    sizes = {
        table: {name: sum(size[table][name] for size in recount.sizes.values() if table in size)
                for name in ["rows", "bytes"]}
        for table in tables.TABLES
    }
    wanted = printed(total, sizes)
    for place in range(max(len(got), len(wanted))):
        pair = [texts[place] if place < len(texts) else None for texts in (got, wanted)]
        lines.equal(f"line {place + 1}", *pair)

    pairs = check("versions in every file", "DuckDB parquet_kv_metadata")
    versions(con, arguments.data, manifest, pairs)

    asked = check("totals of games an answer carries", "DuckDB")
    for name in ["held-piece-lost", "restrained-piece-lost"]:
        command = [arguments.hobble, "ask", name, "--data", arguments.data, "--format", "json"]
        done = subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True)
        dataset = json.loads(done.stdout)["dataset"]
        if "repeats" in manifest["parameters"]:
            asked.equal(f"{name} repeats", dataset.get("repeats"), total["repeats"])
        sums = {"read": total["read"], "kept": total["kept"],
                "skipped": sum(total["skipped"].values()), "skipped_by_reason": total["skipped"]}
        for field, count in sums.items():
            asked.equal(f"{name} {field}", dataset[field], count)
        asked.equal(f"{name} sources", len(dataset["sources"]), len({key[0] for key in recount.accounts}))
        for source in dataset["sources"]:
            account = add(recount.accounts[key] for key in recount.accounts if key[0] == source["source"])
            for field in ["read", "kept", "skipped"]:
                asked.equal(f"{name} {source['source']} {field}", source[field], account[field])

    differences = sum(one.report() for one in [numbers, again, lines, pairs, asked])
    sys.exit(differences > 0)


if __name__ == "__main__":
    main()
