"""The checks of tests/cluster/run: check.py ARCHIVE FOLDER [scale|answers]."""

import gzip
import json
import os
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
ROOT = HERE.parent.parent
CLUSTER = ROOT / "pipeline" / "cluster"
sys.path.insert(0, str(CLUSTER))
import answers  # noqa: E402
import spark_views  # noqa: E402
from archives import cut, other_text, with_odd_games  # noqa: E402
from processes import begin, descendants, must, run  # noqa: E402
from scale import questions, tables_of_costs  # noqa: E402
from scanned import SOURCES, account, busiest, digests, files_sql, stamps, without  # noqa: E402

HOBBLE = os.environ["HOBBLE"]
STORE = os.environ["HOBBLE_STORE"]
FILES = 16
# Comparisons read the turns only.
TURNS_ALONE = ("held-piece-lost", "restrained-piece-lost")
MASTER = "local-cluster[2,1,1024]"
# Small blocks and parts, so that a file of this archive has several.
SMALL = ["--block-kib", "256", "--part-blocks", "3"]

os.environ["SPARK_HOME"] = str(Path(pyspark.__file__).parent)
os.environ["PYSPARK_PYTHON"] = sys.executable
os.environ["SPARK_LOCAL_IP"] = "127.0.0.1"
# One date of scanning, so that manifests can be compared.
os.environ["SOURCE_DATE_EPOCH"] = "1935565200"
# What killed programs leave lying goes with the rest.
FOLDER = Path(sys.argv[2]).resolve()
os.environ["SPARK_WORKER_DIR"] = os.environ["TMPDIR"] = str(FOLDER / "temporary")

passed = failed = 0


def check(name, holds, detail=""):
    global passed, failed
    passed, failed = passed + bool(holds), failed + (not holds)
    line = "passed" if holds else "FAILED"
    print(f"{line} | {name}" + (f" | {detail}" if detail else ""), flush=True)


def job_command(archives, out, *more, master=MASTER):
    return [
        sys.executable, CLUSTER / "scan_job.py", *archives, "--out", out, "--master", master,
        "--hobble", HOBBLE, "--store", STORE, "--conf", "spark.ui.showConsoleProgress=false",
        "--conf", "spark.ui.enabled=false",
        "--conf", f"spark.local.dir={FOLDER}/temporary", *more,
    ]  # fmt: skip


def markers(out):
    return len(list(out.glob(".tasks/*/manifest.json")))


def executor_at_work(job, words):
    """An executor of a job below which a scan runs whose command holds these words."""
    for pid, command in descendants(job.pid):
        if "CoarseGrainedExecutorBackend" in command and "java" in command.split()[0]:
            if any(f"{HOBBLE} scan" in below and words in below for _, below in descendants(pid)):
                return pid
    return None


def job_with_killed_executors(command, out, log, times, words="", after=0):
    """Runs the job and kills executors that scan what is meant, when some tasks are done."""
    job, killed, done = begin(command, log), [], None
    while job.poll() is None:
        if len(killed) < times and markers(out) >= after:
            pid = executor_at_work(job, words)
            if pid and pid not in killed:
                done = markers(out) if done is None else done
                os.kill(pid, signal.SIGKILL)
                killed.append(pid)
        time.sleep(0.1)
    return job.returncode, killed, done


def job_with_a_killed_driver(command, out, log, after):
    """Kills the driver, its Java machine too, when some tasks are done. Returns their number."""
    job = begin(command, log)
    while job.poll() is None:
        if markers(out) >= after:
            below = descendants(job.pid)
            for pid in [job.pid, *(p for p, words in below if "SparkSubmit" in words)]:
                os.kill(pid, signal.SIGKILL)
            job.wait()
            for _ in range(300):
                # Names of programs: a number may by now be another's.
                now = {int(line.split(None, 1)[0]): line for line in must(["ps", "-eo", "pid=,args="]).splitlines()}
                left = [pid for pid, words in below if words.split()[0] in now.get(pid, "")]
                if not left:
                    break
                time.sleep(0.1)
            return markers(out), len(left)
        time.sleep(0.05)
    return None


def events(folder):
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        for line in path.read_bytes().splitlines():
            if line.startswith(b"{"):
                yield json.loads(line)


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
    for table in ("games", "moves", "spells", "turns", "decisions", "sides", "skipped"):
        names = [r[0] for r in db.execute(f"DESCRIBE SELECT * FROM {files_sql(whole, table)}").fetchall()]
        own = [n for n in names if n not in ("game", "byte_offset", "line", "at_line", "file", "source")]
        moved = {"game": "games", "byte_offset": "bytes", "line": "lines", "at_line": "lines"}
        shifted = [(n, by) for n, by in moved.items() if n in names]
        # Which game a repeat repeats is named with its archive.
        row = ", ".join("nullif(words, CASE reason WHEN 'repeat' THEN words END)" if n == "words" and table == "skipped" else f'"{n}"' for n in own)
        there = row + "".join(f', "{n}"::BIGINT' for n, _ in shifted)
        here = row + "".join(f', ("{n}" + shift.{by})::BIGINT' for n, by in shifted)
        joined = f"{files_sql(pieces, table)} JOIN shift USING (source)"
        # Rows of both as sets with repeats: their number, and the sum of a hash of each.
        ask = "SELECT count(*), coalesce(sum(hash({})::HUGEINT), 0) FROM {}"
        one = db.execute(ask.format(there, files_sql(whole, table))).fetchone()
        two = db.execute(ask.format(here, joined)).fetchone()
        check(f"table {table}: same rows", one == two and one[0], f"{one[0]:,} rows, {len(names) - 1} columns")
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


def less(name, answer):
    return without(json.loads(answer), (*SOURCES, "examples") if name == "scope-of-a-side" else SOURCES)


def same_answers(whole, pieces):
    names, same, differ = [line.split()[0] for line in must([HOBBLE, "questions"]).splitlines() if line[:1].strip()], 0, []
    for name in names:
        # A question about a player is asked of whoever played most.
        about = ["--player", busiest(whole)] if name == "own-habits" else []
        one, two = (
            run([HOBBLE, "ask", name, "--data", data, "--format", "json", *about]) for data in (whole, pieces)
        )
        if one.returncode != two.returncode:
            differ.append(f"{name}: exit {one.returncode}, {two.returncode}")
        elif one.returncode != 0:
            differ.append(f"{name}: {one.stderr.strip()}")
        # Boards of a side's scope are drawn by the archive and the number of their games.
        elif less(name, one.stdout) != less(name, two.stdout):
            differ.append(name)
        else:
            same += 1
    check("shipped questions: same answers", same == len(names) > 0, f"{same} of {len(names)}" + "".join(f"; {t}" for t in differ))


def answers_from_turns(data, folder):
    """Questions that need no other table are answered from a copy of the turns alone."""
    shutil.copytree(data / "turns", folder / "turns")
    shutil.copy(data / "manifest.json", folder)
    same = 0
    for name in TURNS_ALONE:
        one, two = (must([HOBBLE, "ask", name, "--data", d, "--format", "json"]) for d in (data, folder))
        # Example positions are found in games and moves.
        less = ("examples", "notes")
        same += without(json.loads(one), less) == without(json.loads(two), less) != {}
    check("turns alone: same answers", same == len(TURNS_ALONE), ", ".join(TURNS_ALONE))


def killed_and_run_again(pieces, folder):
    """The driver killed, then one executor too often, then twice: the job ends well at last."""
    out = folder / "data"
    folder.mkdir()
    chosen = sorted(pieces, key=lambda p: p.stat().st_size)[: FILES // 2]
    command = job_command(chosen, out)
    # The smallest comes last.
    last = chosen[0].name
    done = job_with_a_killed_driver(command, out, folder / "driver.log", 2)
    check("driver killed: nothing is committed, nothing goes on", done and not (out / "manifest.json").exists() and not done[1], f"after {done[0]} of {len(chosen)} tasks, {done[1]} processes left" if done else "it ended before")

    log = folder / "executors.log"
    code, killed, before = job_with_killed_executors([*command, "--conf", "spark.task.maxFailures=2"], out, log, 9, last)
    lines = log.read_text().splitlines()
    said = [line for line in lines if line.startswith("scan_job: ")]
    check("run again, its executor killed each time: given up in one line", code == 1 and len(killed) >= 2 and len(said) == 1 and last in said[0] and "Traceback" not in log.read_text() and not (out / "manifest.json").exists(), "; ".join(said) or f"exit {code}, {len(killed)} killed")
    check("run again: goes on where the killed driver was", any(f"done before {n}," in line for line in lines for n in range(2, len(chosen))), next((line for line in lines if line.startswith("tasks ")), ""))

    log = folder / "twice.log"
    code, killed, before = job_with_killed_executors(command, out, log, 2, last)
    check("run again, its executor killed twice: ends well", code == 0 and len(killed) == 2, f"{before} of {len(chosen)} done before" if code == 0 else log.read_text()[-300:])
    must([HOBBLE, "scan", *sorted(chosen), "--out", folder / "whole"])
    expected = digests(folder / "whole")
    check("run again: same files as one machine, byte for byte", expected and digests(out) == expected, f"{len(expected)} files")
    left = [p for p in out.rglob("*") if p.is_file() and p.suffix != ".parquet" and p.name not in ("manifest.json", ".lock", "repeats.csv")]
    check("run again: nothing half-done is left", not left, ", ".join(map(str, left)))


def s3_round_trip(archive, one, data, folder):
    """The same job with an S3-compatible server on this machine; a grid of claims on other tables, put there."""
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
        # A name that an address cannot hold as it is.
        name = "club games #1, 100%.pgn"
        client.upload_file(archive, "archive", f"in/{name}")
        command = job_command(["s3://archive/in"], "s3://archive/out", "--stripes", "3",
                              "--scan-options", " ".join(SMALL), master="local[2]")  # fmt: skip
        done = run(command)
        check("S3: the job ends well", done.returncode == 0 and "to run 3" in done.stdout, done.stderr.strip()[-300:] if done.returncode else "3 stripes, archive read from the store")
        got = folder / "from-s3"
        must([STORE, "get", "s3://archive/out", got])
        answers.of_a_store(check, "s3://archive/out", got, folder)
        answers.grids_of_a_store(check, "s3://archive/sifted", data, folder)
        manifest = json.loads((got / "manifest.json").read_text())
        (source,) = manifest["sources"]
        check("S3: the archive keeps its name", source["file"] == f"archive/in/{name}", source["file"])
        # The name of the archive is a column of two tables, so these differ.
        mine, theirs = digests(got), digests(one)
        mine_as = {k.replace(source["source"], archive.name): v for k, v in mine.items()}
        # On a store the cubes of the parts stay apart, and the table of players is not made.
        named = ("games/", "skipped/", "exposure/", "players/")
        pick = lambda d: {k: v for k, v in d.items() if not k.startswith(named)}  # noqa: E731
        check("S3: same files as on one machine", pick(mine_as) == pick(theirs) and len(pick(mine)) > 10, f"{len(pick(mine))} files")
        check("S3: same totals as on one machine", account(got) == account(one))
        again = run(command)
        check("S3: run again, nothing to do", again.returncode == 0 and "to run 0" in again.stdout)
        client.delete_object(Bucket="archive", Key=next(f"out/{k}" for k in mine if k.startswith("moves/")))
        mended = run(command)
        check("S3: an object deleted, its stripe alone is done again", mended.returncode == 0 and "to run 1" in mended.stdout)
        check("S3: a manifest that is the same is not written again", must([STORE, "commit", got / "manifest.json", "s3://archive/out/manifest.json"]).strip() == "unchanged")
        time.sleep(1)  # times are in seconds
        client.upload_file(archive, "archive", f"in/{name}")
        again = run(command)
        check("S3: the same archive put again, nothing to do", again.returncode == 0 and "to run 0" in again.stdout)
        client.upload_file(other_text(archive, folder / "other.pgn"), "archive", f"in/{name}")
        refused = run(command)
        check("S3: an archive of other bytes is refused", refused.returncode == 1 and "has changed since its scan" in refused.stderr)
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


def an_executor_killed(places, folder):
    """Sixteen files, one executor killed. Returns the folder of the tables."""
    data, log = folder / "data", folder / "job.log"
    (folder / "events").mkdir()
    command = job_command([folder / "archive"], data)
    logged = ["--conf", "spark.eventLog.enabled=true", "--conf", "spark.eventLog.compress=false", "--conf", f"spark.eventLog.dir=file://{folder}/events"]
    code, killed, done = job_with_killed_executors([*command, *logged], data, log, 1, after=2)
    check("the job ends well with an executor killed", code == 0 and killed, f"killed process {killed[0]} after {done} of {FILES} tasks" if killed else log.read_text()[-500:])
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
    answers_from_turns(data, folder / "cube")
    checked = run([HOBBLE, "check", "--data", data])
    check("hobble check finds the gathered tables well", checked.returncode == 0)

    before = stamps(data)
    again = run(command)
    now = stamps(data)
    touched = [p for p in now if now[p] != before.get(p) and Path(p).suffix == ".parquet"]
    check("run again, nothing to do", again.returncode == 0 and "to run 0" in again.stdout and not touched)
    return data


def in_stripes(piece, one_file, folder):
    """One file in stripes; a stripe deleted. Returns the folder of the tables and the command."""
    striped = folder / "striped"
    command = job_command([piece], striped, "--stripes", "3", "--scan-options", " ".join(SMALL))
    done = run(command)
    check("one file in three stripes", done.returncode == 0 and "to run 3" in done.stdout, done.stderr.strip()[-300:] if done.returncode else "")
    check("stripes: same files as one machine, byte for byte", digests(striped) == digests(one_file), f"{len(digests(one_file))} files")
    same = (striped / "manifest.json").read_bytes() == (one_file / "manifest.json").read_bytes()
    check("stripes: same manifest as one machine, byte for byte", same)
    (marker,) = striped.glob(".tasks/*.1-of-3")
    own = json.loads((marker / "manifest.json").read_text())["sources"][0]["parts"]
    shutil.rmtree(marker)
    for part in own:
        for path in striped.glob(f"*/source={piece.name}/part-{part['part']:05}.parquet"):
            path.unlink()
    before = stamps(striped)
    mended = run(command)
    now = stamps(striped)
    others = [p for p in before if Path(p).suffix == ".parquet" and now.get(p) != before[p]]
    check("a stripe deleted, it alone is done again", mended.returncode == 0 and "to run 1" in mended.stdout and not others)
    check("stripes: whole again, byte for byte", digests(striped) == digests(one_file))
    return striped, command


def lost_and_written_again(piece, one_file, striped, command):
    """A file lost, though its marker stands; and archives written again, the same or not."""
    next(striped.glob("spells/source=*/*.parquet")).unlink()
    mended = run(command)
    check("a file lost, its stripe alone is done again", mended.returncode == 0 and "to run 1" in mended.stdout and digests(striped) == digests(one_file))
    own, about = piece.read_bytes(), piece.stat()
    piece.touch()
    again = run(command)
    check("an archive written again as it was, nothing to do", again.returncode == 0 and "to run 0" in again.stdout)
    other_text(piece, piece)
    before = stamps(striped)
    refused = run(command)
    check("an archive of other bytes is refused", refused.returncode == 1 and "has changed since its scan" in refused.stderr and stamps(striped) == before, refused.stderr.strip().splitlines()[-1][-60:])
    piece.write_bytes(own)
    os.utime(piece, ns=(about.st_atime_ns, about.st_mtime_ns))


def not_right(piece, own, folder):
    """Archives and programs that are not right."""
    broken = folder / "broken.pgn.gz"
    broken.write_bytes(gzip.compress(own)[:100_000])
    refused = run(job_command([piece, broken], folder / "refused", master="local[2]"))
    check("a broken archive is named, nothing is committed", refused.returncode == 1 and "broken.pgn.gz" in refused.stderr and "nothing was committed" in refused.stderr and not (folder / "refused/manifest.json").exists(), next((line for line in refused.stderr.splitlines() if line.startswith("broken.pgn.gz")), "")[:80])
    twice = folder / "twice.pgn"
    shutil.copy(piece, twice)
    job = lambda *more: run(job_command([piece, twice], *more, master="local[2]"))  # noqa: E731
    doubled = job(folder / "doubled")
    check("archives of the same bytes are named, as by a scan, and left out", doubled.returncode == 0 and "left out as repeats" in doubled.stderr and account(folder / "doubled")["repeats"] >= account(folder / "doubled")["kept"])
    doubled = job(folder / "kept", "--scan-options", "--repeats keep")
    check("archives of the same bytes count twice where repeats are kept", doubled.returncode == 1 and "count twice" in doubled.stderr and (folder / "kept/manifest.json").exists())
    refused = run(job_command([piece], folder / "refused", "--scan-options", "--bands 3"))
    check("an unknown option is named", refused.returncode == 1 and "unexpected argument '--bands'" in refused.stderr, refused.stderr.strip()[-60:])


def without_a_cluster(piece, one_file, folder):
    """The same without a cluster, and a stripe that is not there."""
    apart = [folder / f"apart-{index}" for index in range(2)]
    for index, out in enumerate(apart):
        must([HOBBLE, "scan", piece, "--out", out, "--stripe", f"{index}/2", *SMALL])
    missing = run([HOBBLE, "gather", apart[0], "--out", folder / "apart"])
    check("gather: a missing stripe is named", missing.returncode == 2 and "stripe 1/2 is missing" in missing.stderr, missing.stderr.strip().split(": ", 1)[-1][-60:])
    must([HOBBLE, "gather", *apart, "--out", folder / "apart"])
    check("gather: same files as one machine, byte for byte", digests(folder / "apart") == digests(one_file))


def repeats_among_archives(pieces, folder):
    """Archives that share games, in stripes and shares: the tables of one scan of all of them, also
    where an archive is added later."""
    shared, out = folder / "shared", folder / "left-out"
    shared.mkdir(parents=True)
    texts = [p.read_bytes() for p in pieces[:3]]
    half = [text[: text.index(b"\n\n[Event ", len(text) // 2) + 2] for text in texts]
    made = {"b.pgn": texts[0], "c.pgn": half[1] + half[0], "d.pgn": texts[1], "a.pgn": half[1] + texts[2]}
    for name, text in made.items():
        (shared / name).write_bytes(text)
    first = [shared / name for name in ("b.pgn", "c.pgn", "d.pgn")]
    options = ["--stripes", "2", "--shares", "3", "--scan-options", " ".join(SMALL)]
    done = run(job_command(first, out, *options))
    must([HOBBLE, "scan", *first, "--out", folder / "one-scan", *SMALL])
    one = folder / "one-scan"
    check("repeats among archives: same files as one scan, byte for byte", done.returncode == 0 and digests(out) == digests(one), done.stderr.strip()[-300:] if done.returncode else f"{account(out)['repeats']:,} repeats, {len(digests(out))} files")
    check("repeats among archives: same totals as one scan", account(out) == account(one) and account(out)["repeats"] > 5000)
    before = stamps(out)
    added = run(job_command([shared], out, *options))
    must([HOBBLE, "scan", shared / "a.pgn", "--out", one, *SMALL])
    check("an archive added: same files as one scan, byte for byte", added.returncode == 0 and "to run 2" in added.stdout and digests(out) == digests(one), added.stderr.strip()[-300:] if added.returncode else f"{account(out)['repeats']:,} repeats")
    now = stamps(out)
    touched = [p for p in before if "source=all" not in p and p.endswith(".parquet") and now.get(p) != before[p]]
    check("an archive added: other files are left alone", not touched)
    (out / ".tasks/a.pgn.0-of-2/manifest.json").unlink()
    fewer = run(job_command([shared / "a.pgn"], out, *options))
    check("fewer archives than the folder has: refused in one line", fewer.returncode == 1 and "name all archives" in fewer.stderr.strip().splitlines()[-1], fewer.stderr.strip().splitlines()[-1][-80:])


def main():
    # Resolved, as the job does: the name of an archive is a column.
    archive, folder = Path(sys.argv[1]).resolve(), FOLDER
    began = time.time()
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "temporary").mkdir(parents=True)
    if sys.argv[3:] == ["scale"]:
        tables_of_costs(archive, folder / "whole", folder)
        questions(folder / "whole", folder)
        shutil.rmtree(folder)
        return 0
    archive = with_odd_games(archive, folder / "odd-and-open.pgn")
    places = cut(archive, folder / "archive", FILES)
    pieces = sorted((folder / "archive").glob("*.pgn"))
    one_file = folder / "one-file"
    must([HOBBLE, "scan", pieces[3], "--out", one_file, *SMALL])
    if sys.argv[3:] == ["answers"]:
        must([HOBBLE, "scan", archive, "--out", folder / "whole", *SMALL])
        answers.of_a_folder(check, folder / "whole", folder)
        s3_round_trip(pieces[3], one_file, folder / "whole", folder)
        print(f"{passed} passed, {failed} failed")
        return 1 if failed else 0
    tables_of_costs(archive, folder / "whole", folder)
    data = an_executor_killed(places, folder)
    answers.of_a_folder(check, data, folder)
    striped, command = in_stripes(pieces[3], one_file, folder)
    lost_and_written_again(pieces[3], one_file, striped, command)
    not_right(pieces[0], pieces[3].read_bytes(), folder)
    without_a_cluster(pieces[3], one_file, folder)
    repeats_among_archives(pieces, folder / "repeats")
    killed_and_run_again(pieces, folder / "killed")
    spark_views.agree(check, data)
    s3_round_trip(pieces[3], one_file, data, folder)
    print(f"in {time.time() - began:.0f} s")
    if not failed:
        shutil.rmtree(folder)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
