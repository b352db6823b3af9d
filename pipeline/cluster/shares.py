"""Tables counted in shares for a question or a grid: each task hands a share of the parts to the program `hobble` on an
executor, which counts them into a state; executors add states up in groups, the driver adds the groups."""

import json
import math
from pathlib import Path

import executor_tasks
from spark import collected, path_or_address
from table_storage import Failed, call

# Tasks for each core, so that none waits long for the last.
EACH = 4


def add_arguments(parser):
    parser.add_argument("--data", required=True, type=path_or_address, help="folder of tables that all machines see, or s3://bucket/folder")
    parser.add_argument("--shares", type=int, help=f"shares of the tables, a task each (default: {EACH} for each core, or one for each part)")


class Shares:
    """The parts of tables in shares, and what counts them: a command of `hobble` with a question or a grid."""

    def __init__(self, arguments, command, asked, options, session, temporary):
        """Asks which files are read, so that what is wrong with question or grid is said before executors start."""
        self.command = [arguments.hobble, command]
        self.temporary = temporary
        self.data = arguments.data
        if "://" in arguments.data:
            call([arguments.store, "get", f"{arguments.data}/manifest.json", str(temporary)])
            self.data = str(temporary)
        try:
            manifest = json.loads((Path(self.data) / "manifest.json").read_text())
        except OSError:
            raise Failed(f"{arguments.data}: holds no tables, no manifest.json is there") from None
        self.asking = [*self.command, *([asked] if asked else []), *options, "--data", self.data]
        call([*self.asking, "--list-files"])
        self.context = session().sparkContext
        parts = sum(len(source["parts"]) for source in manifest["sources"])
        number = max(1, min(parts, arguments.shares or EACH * self.context.defaultParallelism))
        text = Path(asked).read_text() if asked and Path(asked).is_file() else None
        self.setting = dict(
            hobble=arguments.hobble, store=arguments.store, data=arguments.data, shares=number,
            command=command, asked=asked, text=text, options=options,
        )  # fmt: skip

    def count(self, first=None):
        """Counts all shares; after a first count with what came of that, a file. Returns files of states whose sum is
        that of all shares."""
        setting = dict(self.setting, first=first and Path(first).read_bytes())
        number = setting["shares"]
        groups = math.isqrt(number - 1) + 1
        counted = lambda share: (share % groups, executor_tasks.count(share, setting))  # noqa: E731
        added = lambda pairs: executor_tasks.add((state for _, state in pairs), setting)  # noqa: E731
        dealt = self.context.parallelize(range(number), number).map(counted).partitionBy(groups, lambda group: group)
        files = []
        for state in collected(dealt.mapPartitions(added)):
            files.append(str(self.temporary / f"{len(files)}.state"))
            Path(files[-1]).write_bytes(state)
        return files

    def sum(self, states, to):
        """Adds states up into a file. Returns its path."""
        call([*self.command, "--state", str(to), "--from", *states])
        return str(to)
