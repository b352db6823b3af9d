"""The checks of tests/cluster/run: check.py ARCHIVE FOLDER."""

import hashlib
import json
import math
import os
import resource
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pyspark

HERE = Path(__file__).resolve().parent
CLUSTER = HERE.parent.parent / "pipeline" / "cluster"
sys.path.insert(0, str(CLUSTER))
from open_tables import open_tables, statements  # noqa: E402

HOBBLE = os.environ["HOBBLE"]
STORE = os.environ["HOBBLE_STORE"]
FILES = 16
MASTER = "local-cluster[2,1,1024]"
# Small blocks and parts, so that a file of this archive has several.
SMALL = ["--block-kib", "256", "--part-blocks", "3"]

os.environ["SPARK_HOME"] = str(Path(pyspark.__file__).parent)
os.environ["PYSPARK_PYTHON"] = sys.executable
os.environ["SPARK_LOCAL_IP"] = "127.0.0.1"

passed = failed = 0


def check(name, holds, detail=""):
    global passed, failed
    passed, failed = passed + bool(holds), failed + (not holds)
    line = "passed" if holds else "FAILED"
    print(f"{line} | {name}" + (f" | {detail}" if detail else ""), flush=True)


def run(command, **more):
    return subprocess.run(list(map(str, command)), capture_output=True, text=True, **more)


def must(command, **more):
    done = run(command, **more)
    if done.returncode != 0:
        sys.exit(f"{command[0]}: {done.stderr.strip()[-2000:]}")
    return done.stdout


def cut(archive, folder, count):
    """Cuts an archive at game borders into files of about the same size."""
    text = archive.read_bytes()
    folder.mkdir(parents=True)
    start, places = 0, []
    for number in range(count):
        end = len(text)
        if number + 1 < count:
            end = text.index(b"\n\n[Event ", len(text) * (number + 1) // count) + 2
        piece = text[start:end]
        (folder / f"{number:02}.pgn").write_bytes(piece)
        places.append((start, text[:start].count(b"\n") if start else 0))
        start = end
    return places


def job_command(archives, out, *more, master=MASTER):
    return [
        sys.executable, CLUSTER / "scan_job.py", *archives, "--out", out, "--master", master,
        "--hobble", HOBBLE, "--store", STORE, "--conf", "spark.ui.showConsoleProgress=false",
        "--conf", "spark.ui.enabled=false", *more,
    ]  # fmt: skip


def descendants(pid):
    """Processes below one, as (id, command)."""
    rows = [line.split(None, 2) for line in must(["ps", "-eo", "pid=,ppid=,args="]).splitlines()]
    found, below = [], {str(pid)}
    while True:
        new = [r for r in rows if len(r) == 3 and r[1] in below and r[0] not in below]
        if not new:
            return found
        below.update(r[0] for r in new)
        found += [(int(r[0]), r[2]) for r in new]


def job_with_a_killed_executor(command, out, log):
    """Runs the job and kills an executor that is at work once some tasks are done."""
    with open(log, "w") as sink:
        job = subprocess.Popen(list(map(str, command)), stdout=sink, stderr=subprocess.STDOUT)
    killed = None
    while job.poll() is None:
        done = len(list(out.glob(".tasks/*/manifest.json")))
        if killed is None and 2 <= done < FILES - 3:
            for pid, words in descendants(job.pid):
                backend = "CoarseGrainedExecutorBackend" in words and "java" in words.split()[0]
                busy = backend and any(f"{HOBBLE} scan" in w for _, w in descendants(pid))
                if busy:
                    os.kill(pid, signal.SIGKILL)
                    killed = (pid, done)
                    break
        time.sleep(0.1)
    return job.returncode, killed


def events(folder):
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        for line in path.read_bytes().splitlines():
            if line.startswith(b"{"):
                yield json.loads(line)


def digests(data):
    """SHA-256 of every table file."""
    return {
        str(p.relative_to(data)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(data.glob("table=*/source=*/*.parquet"))
    }


def stamps(data):
    return {str(p): p.stat().st_mtime_ns for p in sorted(data.rglob("*")) if p.is_file()}


def account(data):
    """What was read, over all sources."""
    total = {}
    manifest = json.loads((data / "manifest.json").read_text())
    for source in manifest["sources"]:
        for key, value in source.items():
            if key in ("bytes", "parts", "complete"):
                continue
            if isinstance(value, int):
                total[key] = max(total.get(key, 0), value) if key == "longest" else total.get(key, 0) + value
            elif isinstance(value, dict):
                sums = total.setdefault(key, {})
                for name, n in value.items():
                    sums[name] = sums.get(name, 0) + n
    return total


def files_sql(data, table):
    return f"read_parquet('{data}/table={table}/*/*.parquet', hive_partitioning=true)"


def same_tables(whole, pieces, places):
    """Compares a scan of one file with one of its pieces, numbers and places shifted."""
    db = duckdb.connect()
    manifest = json.loads((pieces / "manifest.json").read_text())
    rows, games = [], 0
    for source, (offset, lines) in zip(manifest["sources"], places):
        rows.append((source["source"], games, offset, lines))
        games += source["read"]
    db.execute("CREATE TABLE shift (source VARCHAR, games BIGINT, bytes BIGINT, lines BIGINT)")
    db.executemany("INSERT INTO shift VALUES (?, ?, ?, ?)", rows)
    for table in ("games", "moves", "spells", "skipped"):
        names = [r[0] for r in db.execute(f"DESCRIBE SELECT * FROM {files_sql(whole, table)}").fetchall()]
        own = [n for n in names if n not in ("game", "offset", "line", "at_line", "file", "source", "table")]
        moved = {"game": "games", "offset": "bytes", "line": "lines", "at_line": "lines"}
        shifted = [(n, by) for n, by in moved.items() if n in names]
        row = ", ".join(f'"{n}"' for n in own)
        there = row + "".join(f', "{n}"::BIGINT' for n, _ in shifted)
        here = row + "".join(f', ("{n}" + shift.{by})::BIGINT' for n, by in shifted)
        joined = f"{files_sql(pieces, table)} JOIN shift USING (source)"
        # Rows of both as sets with repeats: their number, and the sum of a hash of each.
        ask = "SELECT count(*), coalesce(sum(hash({})::HUGEINT), 0) FROM {}"
        one = db.execute(ask.format(there, files_sql(whole, table))).fetchone()
        two = db.execute(ask.format(here, joined)).fetchone()
        check(f"table {table}: same rows", one == two, f"{one[0]:,} rows, {len(names) - 1} columns")
    names = [r[0] for r in db.execute(f"DESCRIBE SELECT * FROM {files_sql(whole, 'exposure')}").fetchall()]
    keys = [n for n in names[: names.index("turns")] if n not in ("source", "table")]
    sums = ", ".join(f"sum({n}) AS {n}" for n in names if n == "turns" or n.split("_")[-1].isdigit())
    cube = f"SELECT {', '.join(keys)}, {sums} FROM {{}} GROUP BY ALL"
    one, two = (cube.format(files_sql(data, "exposure")) for data in (whole, pieces))
    apart = db.execute(
        f"SELECT (SELECT count(*) FROM ({one} EXCEPT ALL {two})), (SELECT count(*) FROM ({two} EXCEPT ALL {one})),"
        f" (SELECT count(*) FROM ({one}))"
    ).fetchone()
    check("table exposure: same sums", apart[:2] == (0, 0) and apart[2] > 0, f"{apart[2]:,} cells")


def without_sources(value):
    """An answer less what names its archives."""
    if isinstance(value, dict):
        return {k: without_sources(v) for k, v in value.items() if k not in ("sources", "source", "file", "game", "offset", "line", "data", "dataset", "methods_text", "citation")}
    if isinstance(value, list):
        return [without_sources(v) for v in value]
    return value


def busiest(data):
    """The most frequent name in the table of games."""
    games = f"{data}/table=games/**/*.parquet"
    names = f"select white as name from '{games}' union all select black from '{games}'"
    query = f"select name from ({names}) where name is not null group by name order by count(*) desc, name limit 1"
    return duckdb.sql(query).fetchall()[0][0]


def same_answers(whole, pieces):
    names = [line.split()[0] for line in must([HOBBLE, "questions"]).splitlines() if line[:1].strip()]
    same, told = 0, []
    for name in names:
        # A question about a player is asked of whoever played most.
        about = ["--player", busiest(whole)] if name == "own-habits" else []
        one, two = (
            run([HOBBLE, "ask", name, "--data", data, "--format", "json", *about]) for data in (whole, pieces)
        )
        if one.returncode != two.returncode:
            told.append(f"{name}: exit {one.returncode}, {two.returncode}")
        elif one.returncode != 0:
            told.append(f"{name}: {one.stderr.strip()}")
        elif without_sources(json.loads(one.stdout)) != without_sources(json.loads(two.stdout)):
            told.append(name)
        else:
            same += 1
    check("shipped questions: same answers", same == len(names) > 0, f"{same} of {len(names)}" + "".join(f"; {t}" for t in told))


def plain(value):
    if isinstance(value, float) and value == math.floor(value):
        return int(value)
    return int(value) if type(value).__name__ == "Decimal" else value


def views_agree(data):
    from pyspark.sql import SparkSession

    spark = SparkSession.builder.master("local[2]").config("spark.ui.enabled", "false")
    spark = spark.config("spark.ui.showConsoleProgress", "false").getOrCreate()
    spark.sparkContext.setLogLevel("ERROR")
    open_tables(spark, str(data))
    db = duckdb.connect()
    for table in ("games", "moves", "spells", "exposure"):
        db.execute(f"CREATE VIEW {table} AS SELECT * FROM {files_sql(data, table)}")
    for statement in statements((CLUSTER / "views.sql").read_text()):
        db.execute(statement)
    views = {
        name: f"SELECT * FROM {name}" for name in ("losses_by_kind", "causes", "squares_taken", "held")
    }
    views["spells_at"] = "SELECT k, source, count(*), sum(start_ply), sum(piece) FROM spells_at GROUP BY k, source"
    for name, query in views.items():
        order = lambda rows: sorted((tuple(map(plain, r)) for r in rows), key=repr)  # noqa: E731
        one = order(db.execute(query).fetchall())
        two = order(spark.sql(query).collect())
        check(f"view {name}: Spark SQL and DuckDB agree", one == two and one, f"{len(one):,} rows")
    spark.stop()


def s3_round_trip(archive, one, folder):
    """The same job with an S3-compatible server on this machine."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [Path(sys.executable).with_name("moto_server"), "-H", "127.0.0.1", "-p", str(port)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        os.environ.update(
            AWS_ACCESS_KEY_ID="invented", AWS_SECRET_ACCESS_KEY="invented", AWS_REGION="us-east-1",
            AWS_ENDPOINT=f"http://127.0.0.1:{port}", AWS_ALLOW_HTTP="true",
        )  # fmt: skip
        import boto3

        client = boto3.client("s3", endpoint_url=os.environ["AWS_ENDPOINT"], region_name="us-east-1")
        for _ in range(100):
            try:
                client.create_bucket(Bucket="archive")
                break
            except Exception:
                time.sleep(0.2)
        must([STORE, "put", archive, f"s3://archive/in/{archive.name}"])
        command = job_command([f"s3://archive/in/{archive.name}"], "s3://archive/out", "--stripes", "3",
                              "--scan-options", " ".join(SMALL), master="local[2]")  # fmt: skip
        done = run(command)
        check("S3: the job ends well", done.returncode == 0 and "to run 3" in done.stdout, done.stderr.strip()[-300:] if done.returncode else "3 stripes, archive read from the store")
        got = folder / "from-s3"
        must([STORE, "get", "s3://archive/out", got])
        # The name of the archive is a column of two tables, so these differ.
        mine, theirs = digests(got), digests(one)
        named = ("table=games", "table=skipped")
        pick = lambda d: {k: v for k, v in d.items() if not k.startswith(named)}  # noqa: E731
        check("S3: same files as on one machine", pick(mine) == pick(theirs) and mine.keys() == theirs.keys(), f"{len(mine)} files")
        check("S3: same totals as on one machine", account(got) == account(one))
        again = run(command)
        check("S3: run again, nothing to do", again.returncode == 0 and "to run 0" in again.stdout)
        client.delete_object(Bucket="archive", Key=next(f"out/{k}" for k in mine if "table=moves" in k))
        mended = run(command)
        check("S3: an object deleted, its stripe alone is done again", mended.returncode == 0 and "to run 1" in mended.stdout)
        check("S3: a manifest that is the same is not written again", must([STORE, "commit", got / "manifest.json", "s3://archive/out/manifest.json"]).strip() == "unchanged")
        # A put on condition that nothing is there, which the commit rests on.
        try:
            client.put_object(Bucket="archive", Key="out/manifest.json", Body=b"{}", IfNoneMatch="*")
            refused = False
        except client.exceptions.ClientError as error:
            refused = error.response["ResponseMetadata"]["HTTPStatusCode"] == 412
        check("S3: the server refuses a second first manifest", refused)
    finally:
        server.terminate()
        server.wait()


def main():
    # Resolved, as the job does: the name of an archive is a column.
    archive, folder = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    began = time.time()
    shutil.rmtree(folder, ignore_errors=True)
    places = cut(archive, folder / "archive", FILES)
    pieces = sorted((folder / "archive").glob("*.pgn"))

    start = resource.getrusage(resource.RUSAGE_CHILDREN)
    must([HOBBLE, "scan", archive, "--out", folder / "whole"])
    end = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = end.ru_utime + end.ru_stime - start.ru_utime - start.ru_stime
    games = account(folder / "whole")["read"]
    # For pipeline/cluster/SCALE.md.
    print(f"measured | one machine | {spent:.1f} CPU s for {games:,} games, {spent / games * 1e6:.0f} a million")
    one_file = folder / "one-file"
    must([HOBBLE, "scan", pieces[3], "--out", one_file, *SMALL])

    # Sixteen files, one executor killed.
    data, log = folder / "data", folder / "job.log"
    (folder / "events").mkdir()
    command = job_command([folder / "archive"], data)
    logged = ["--conf", "spark.eventLog.enabled=true", "--conf", "spark.eventLog.compress=false", "--conf", f"spark.eventLog.dir=file://{folder}/events"]
    code, killed = job_with_a_killed_executor([*command, *logged], data, log)
    check("the job ends well with an executor killed", code == 0 and killed, f"killed process {killed[0]} after {killed[1]} of {FILES} tasks" if killed else log.read_text()[-500:])
    seen = list(events(folder / "events"))
    lost = [e for e in seen if e["Event"] == "SparkListenerExecutorRemoved" and "137" in e.get("Removed Reason", "")]
    check("Spark saw the executor go", lost, "; ".join(e["Removed Reason"] for e in lost))
    retried = [e for e in seen if e["Event"] == "SparkListenerTaskEnd" and e["Task End Reason"]["Reason"] == "ExecutorLostFailure"]
    check("Spark gave the lost task to another", retried, f"{len(retried)} lost")
    if code != 0:
        sys.exit(log.read_text()[-3000:])
    check("same totals as one machine", account(data) == account(folder / "whole"), f"{account(data)['read']:,} games")
    same_tables(folder / "whole", data, places)
    same_answers(folder / "whole", data)
    checked = run([HOBBLE, "check", "--data", data])
    check("hobble check finds the gathered tables well", checked.returncode == 0)

    before = stamps(data)
    again = run(command)
    now = stamps(data)
    touched = [p for p in now if now[p] != before.get(p) and Path(p).suffix == ".parquet"]
    check("run again, nothing to do", again.returncode == 0 and "to run 0" in again.stdout and not touched)

    # One file in stripes.
    striped = folder / "striped"
    command = job_command([pieces[3]], striped, "--stripes", "3", "--scan-options", " ".join(SMALL))
    done = run(command)
    check("one file in three stripes", done.returncode == 0 and "to run 3" in done.stdout, done.stderr.strip()[-300:] if done.returncode else "")
    check("stripes: same files as one machine, byte for byte", digests(striped) == digests(one_file), f"{len(digests(one_file))} files")
    same = (striped / "manifest.json").read_bytes() == (one_file / "manifest.json").read_bytes()
    check("stripes: same manifest as one machine, byte for byte", same)
    (marker,) = striped.glob(".tasks/*.1-of-3")
    own = json.loads((marker / "manifest.json").read_text())["sources"][0]["parts"]
    shutil.rmtree(marker)
    for part in own:
        for path in striped.glob(f"table=*/source=*/part-{part['part']:05}.parquet"):
            path.unlink()
    before = stamps(striped)
    mended = run(command)
    now = stamps(striped)
    others = [p for p in before if Path(p).suffix == ".parquet" and now.get(p) != before[p]]
    check("a stripe deleted, it alone is done again", mended.returncode == 0 and "to run 1" in mended.stdout and not others)
    check("stripes: whole again, byte for byte", digests(striped) == digests(one_file))

    # The same without a cluster, and a stripe that is not there.
    apart = [folder / f"apart-{index}" for index in range(2)]
    for index, out in enumerate(apart):
        must([HOBBLE, "scan", pieces[3], "--out", out, "--stripe", f"{index}/2", *SMALL])
    missing = run([HOBBLE, "gather", apart[0], "--out", folder / "apart"])
    check("gather: a missing stripe is named", missing.returncode == 2 and "stripe 1/2 is missing" in missing.stderr, missing.stderr.strip().split(": ", 1)[-1][-60:])
    must([HOBBLE, "gather", *apart, "--out", folder / "apart"])
    check("gather: same files as one machine, byte for byte", digests(folder / "apart") == digests(one_file))

    views_agree(data)
    s3_round_trip(pieces[3], one_file, folder)
    print(f"{passed} passed, {failed} failed ({time.time() - began:.0f} s)")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
