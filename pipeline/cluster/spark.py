"""What the jobs share: a Spark session from the command line, and what went wrong in one line."""

import re
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import unquote

from table_storage import Failed

HERE = Path(__file__).resolve().parent
# What executors import.
MODULES = ("table_storage.py", "executor_tasks.py")


def add_arguments(parser):
    parser.add_argument("--master", help="Spark master, where spark-submit does not give it")
    parser.add_argument("--hobble", default="hobble", help="the program, on every machine")
    parser.add_argument("--store", default="hobble-store", help="the program for S3, on every machine")
    parser.add_argument("--conf", action="append", default=[], metavar="KEY=VALUE", help="Spark setting")


@contextmanager
def sessions(arguments, name):
    """Gives a function that starts a session; what it started is stopped at the end."""
    started = []

    def session():
        from pyspark.sql import SparkSession

        builder = SparkSession.builder.appName(name)
        if arguments.master:
            builder = builder.master(arguments.master)
        for pair in arguments.conf:
            builder = builder.config(*pair.split("=", 1))
        started.append(builder.getOrCreate())
        for module in MODULES:
            started[-1].sparkContext.addPyFile(str(HERE / module))
        return started[-1]

    try:
        yield session
    finally:
        for one in started:
            one.stop()


def run_job(name, parser, work):
    """Does the work of a job with what is named on the command line. Returns its exit code."""
    add_arguments(parser)
    arguments = parser.parse_args()
    try:
        with sessions(arguments, f"hobble {name}") as session, tempfile.TemporaryDirectory(prefix="hobble-") as temporary:
            return work(arguments, session, Path(temporary))
    except Failed as error:
        print(f"{name}_job: {error}", file=sys.stderr)
        return 1


def collected(rows, names=(), then=""):
    """Collects what tasks return; where Spark gives one up, says which of the named ones, why, and what then."""
    from py4j.protocol import Py4JJavaError

    try:
        return rows.collect()
    except Py4JJavaError as error:
        raise Failed(spark_said(str(error.java_exception.getMessage()), names) + then) from None


def spark_said(message, names):
    """Of Spark's pages about a stage that failed: which task was given up, and why."""
    lines = [line for line in message.splitlines() if line.strip()] or ["Spark gave up"]
    found = re.search(r"Task (\d+) in stage", lines[0])
    task = f"{names[int(found[1])]}: " if found and int(found[1]) < len(names) else ""
    ours = [line for line in lines if re.match(r"[\w.]*(Failed|Error|Exception): ", line)]
    why = ours[-1] if ours else lines[0].split("most recent failure: ")[-1]
    return task + re.sub(r"^[\w.]*Failed: ", "", why)


def path_or_address(text):
    """A file's address is its path: the store's program is for what is not a folder."""
    return unquote(text.removeprefix("file://")) if text.startswith("file://") else text
