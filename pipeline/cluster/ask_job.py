"""Answers a question on a Spark cluster, from tables in a folder or on an S3-compatible store.

Each task hands a share of the parts to the program `hobble` on an executor, which counts them into a
state; executors add states up in groups, the driver adds the groups and answers. The answer is that
of one machine, to the last digit. A task whose executor is lost is given to another one: nothing is
written until the end.
"""

import argparse
import json
import math
import shlex
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
from executor_tasks import add, count  # noqa: E402
from spark import add_arguments, path_or_address, sessions, spark_said  # noqa: E402
from table_storage import Failed, call  # noqa: E402

# Tasks for each core, so that none waits long for the last.
EACH = 4


def parts(arguments, options, temporary):
    """Number of parts of the tables; the question is asked which files it reads, so that what is wrong with it is
    said before executors start."""
    folder = Path(arguments.data)
    if "://" in arguments.data:
        call([arguments.store, "get", f"{arguments.data}/manifest.json", str(temporary)])
        folder = temporary
    try:
        manifest = json.loads((folder / "manifest.json").read_text())
    except OSError:
        raise Failed(f"{arguments.data}: holds no tables, no manifest.json is there") from None
    call([arguments.hobble, "ask", arguments.question, *options, "--data", str(folder), "--list-files"])
    return sum(len(source["parts"]) for source in manifest["sources"])


def counted(context, number, arguments, options, first=None):
    """The states of so many shares, added up in groups on executors; of a second count, with what came of the first."""
    from py4j.protocol import Py4JJavaError

    question = Path(arguments.question)
    setting = dict(
        hobble=arguments.hobble,
        store=arguments.store,
        question=arguments.question,
        text=question.read_text() if question.is_file() else None,
        options=options,
        first=first,
        data=arguments.data,
        shares=number,
    )
    groups = math.isqrt(number - 1) + 1
    states = context.parallelize(range(number), number).map(lambda share: (share % groups, count(share, setting)))
    dealt = states.partitionBy(groups, lambda group: group)
    added = dealt.mapPartitions(lambda pairs: add((state for _, state in pairs), setting))
    try:
        return added.collect()
    except Py4JJavaError as error:
        raise Failed(spark_said(str(error.java_exception.getMessage()), [])) from None


def written(states, folder):
    """States as files of a folder."""
    files = []
    for state in states:
        files.append(str(folder / f"{len(files)}.state"))
        Path(files[-1]).write_bytes(state)
    return files


def run(arguments, session):
    """Counts, adds and answers."""
    with tempfile.TemporaryDirectory(prefix="hobble-") as temporary:
        temporary = Path(temporary)
        options = shlex.split(arguments.ask_options)
        number = parts(arguments, options, temporary)
        context = session().sparkContext
        number = max(1, min(number, arguments.shares or EACH * context.defaultParallelism))
        ask = [arguments.hobble, "ask"]
        states = written(counted(context, number, arguments, options), temporary)
        if any(option.split("=")[0] == "--player" for option in options):
            # The first count says which games are the player's.
            first = temporary / "first.state"
            call([*ask, "--state", str(first), "--from", *states])
            states = written(counted(context, number, arguments, options, first.read_bytes()), temporary)
        if arguments.state:
            call([*ask, "--state", arguments.state, "--from", *states])
            states = [arguments.state]
        out = ["--out", arguments.out] if arguments.out else []
        print(call([*ask, "--format", arguments.format, *out, "--from", *states]), end="", flush=True)
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("question", help="a question that comes with the program, or a question file")
    parser.add_argument("--data", required=True, type=path_or_address, help="folder of tables that all machines see, or s3://bucket/folder")
    parser.add_argument("--format", default="text", help="how the answer is written, as `hobble ask` has it")
    parser.add_argument("--out", help="file to write to instead of the terminal")
    parser.add_argument("--state", help="file to write the sum of all states to as well")
    parser.add_argument("--shares", type=int, help=f"shares of the tables, a task each (default: {EACH} for each core, or one for each part)")
    parser.add_argument("--ask-options", default="", help="options of `hobble ask` that change the question, in one string")
    add_arguments(parser)
    arguments = parser.parse_args()
    try:
        with sessions(arguments, "hobble ask") as session:
            return run(arguments, session)
    except Failed as error:
        print(f"ask_job: {error}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(main())
