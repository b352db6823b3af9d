"""What a claim over an archive costs where it is thirty times as large: memory and time.

The parts of a scan stand thirty times in one folder, as those of so many archives. Prints the most memory
and the processor time of a claim over one of them and over all.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

TIMES = 30
CLAIM = "rook-restrained"
# Most by which memory may grow, set from what was measured (1.05 to 1.13 times; 1.2 to 1.5 where the footers of all parts
# are kept, or the allocator keeps what was let go), and time beside thirty times that of one.
MOST_MEMORY, MOST_TIME = 1.25, 1.1


def repeated(data, to, times):
    """Writes a folder in which the parts of `data` stand so many times, by links; without cube and players."""
    manifest = json.loads((data / "manifest.json").read_text())
    (source,) = manifest.pop("sources")
    for of_all in ("cube", "players"):
        manifest.pop(of_all, None)
    manifest["sources"] = []
    for number in range(times):
        name = f"copy-{number:02}.pgn"
        manifest["sources"].append({**source, "source": name, "file": name})
        for part in source["parts"]:
            for table in part["tables"]:
                file = f"part-{part['part']:05}.parquet"
                link = to / table / f"source={name}" / file
                link.parent.mkdir(parents=True, exist_ok=True)
                link.symlink_to((data / table / f"source={source['source']}" / file).resolve())
    (to / "manifest.json").write_text(json.dumps(manifest))


def cost(command):
    """Most memory in bytes and processor seconds of a program."""
    child = subprocess.Popen(list(map(str, command)), stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, command)
    return usage.ru_maxrss * 1024, usage.ru_utime + usage.ru_stime


def claim(hobble, data):
    """What a claim costs."""
    return cost([hobble, "ask", CLAIM, "--data", data, "--format", "json"])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--hobble", required=True)
    parser.add_argument("--data", required=True, type=Path)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="hobble-") as folder:
        costs = []
        for times in (1, TIMES):
            to = Path(folder) / str(times)
            repeated(arguments.data, to, times)
            costs.append(claim(arguments.hobble, to))
            memory, seconds = costs[-1]
            print(f"{CLAIM}, {times} times the archive | {memory / 1e6:.0f} MB | {seconds:.1f} CPU s")
    (memory_1, time_1), (memory_30, time_30) = costs
    print(f"{TIMES} times the archive | memory x {memory_30 / memory_1:.2f} | time x {time_30 / time_1:.1f}")
    return 1 if memory_30 > MOST_MEMORY * memory_1 or time_30 > MOST_TIME * TIMES * time_1 else 0


if __name__ == "__main__":
    sys.exit(main())
