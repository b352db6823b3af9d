"""Programs that the checks run, and what runs below them."""

import subprocess
import sys


def run(command, **more):
    return subprocess.run(list(map(str, command)), capture_output=True, text=True, **more)


def must(command, **more):
    done = run(command, **more)
    if done.returncode != 0:
        sys.exit(f"{command[0]}: {done.stderr.strip()[-2000:]}")
    return done.stdout


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


def begin(command, log):
    with open(log, "w") as sink:
        return subprocess.Popen(list(map(str, command)), stdout=sink, stderr=subprocess.STDOUT)
