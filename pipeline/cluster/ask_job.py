"""Answers a question on a Spark cluster, from tables in a folder or on an S3-compatible store.

The tables are counted in shares on executors, and the driver answers from the sum. The answer is that
of one machine, to the last digit. A task whose executor is lost is given to another one: nothing is
written until the end.
"""

import argparse
import shlex
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
import shares  # noqa: E402
from spark import run_job  # noqa: E402
from table_storage import call  # noqa: E402


def run(arguments, session, temporary):
    """Counts, adds and answers."""
    options = shlex.split(arguments.ask_options)
    tables = shares.Shares(arguments, "ask", arguments.question, options, session, temporary)
    states = tables.count()
    if any(option.split("=")[0] == "--player" for option in options):
        # The first count says which games are the player's.
        states = tables.count(tables.sum(states, temporary / "first.state"))
    if arguments.state:
        states = [tables.sum(states, arguments.state)]
    out = ["--out", arguments.out] if arguments.out else []
    print(call([*tables.command, "--format", arguments.format, *out, "--from", *states]), end="", flush=True)
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("question", help="a question that comes with the program, or a question file")
    parser.add_argument("--format", default="text", help="how the answer is written, as `hobble ask` has it")
    parser.add_argument("--out", help="file to write to instead of the terminal")
    parser.add_argument("--state", help="file to write the sum of all states to as well")
    parser.add_argument("--ask-options", default="", help="options of `hobble ask` that change the question, in one string")
    shares.add_arguments(parser)
    return run_job("ask", parser, run)


if __name__ == "__main__":
    sys.exit(main())
