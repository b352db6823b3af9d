"""Runs a program and prints what it used: CPU time, wall time, peak of memory.

    python -S process.py [--feed FILE --times N] [--cores 0,1] [--reap DIR] -- PROGRAM ARGUMENT…

FILE goes N times into the program's standard input, a portion at a time. DIR is a folder of
tables the program writes: complete parts of the large ones are removed at once, so that a long scan
fills no disk. Prints one line of JSON. Run it in a process of its own: what the system
reports as a child's peak of memory is at least what the parent held when it started it.
"""

import argparse
import json
import os
import subprocess
import sys
import threading
import time

PORTION = 1 << 20


def feed(path, times, sink):
    """Writes a file into the program, over and over."""
    try:
        for _ in range(times):
            last = b"\n"
            with open(path, "rb") as file:
                while portion := file.read(PORTION):
                    sink.write(portion)
                    last = portion[-1:]
            if last != b"\n":
                sink.write(b"\n")
        sink.close()
    except BrokenPipeError:
        pass  # Its exit status shows it.


# Tables whose parts a scan does not read again for those of all parts together (the cube, the players).
WRITTEN_ONCE = ("moves", "spells", "turns", "decisions")


def reap(folder, stop):
    """Removes complete parts of the large tables. The program writes them elsewhere, then moves them here."""
    while not stop.wait(0.5):
        for table in WRITTEN_ONCE:
            for place, _, files in os.walk(os.path.join(folder, table)):
                for name in files:
                    if name.endswith(".parquet"):
                        os.unlink(os.path.join(place, name))


def machine_busy():
    """Seconds all cores of the machine have been busy; None where the system does not count it."""
    try:
        with open("/proc/stat", encoding="ascii") as file:
            user, nice, system, _idle, _wait, irq, soft, steal, *_ = map(int, file.readline().split()[1:])
    except (OSError, ValueError):
        return None
    return (user + nice + system + irq + soft + steal) / os.sysconf("SC_CLK_TCK")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--feed")
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--cores")
    parser.add_argument("--reap")
    parser.add_argument("command", nargs="+")
    arguments = parser.parse_args()
    if arguments.cores:
        os.sched_setaffinity(0, {int(core) for core in arguments.cores.split(",")})

    stop = threading.Event()
    if arguments.reap:
        threading.Thread(target=reap, args=(arguments.reap, stop), daemon=True).start()
    busy = machine_busy()
    start = time.perf_counter()
    child = subprocess.Popen(
        arguments.command,
        stdin=subprocess.PIPE if arguments.feed else subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        bufsize=0,
    )
    if arguments.feed:
        feed(arguments.feed, arguments.times, child.stdin)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    wall = time.perf_counter() - start
    stop.set()
    cpu = usage.ru_utime + usage.ru_stime
    others = None
    if busy is not None:
        own = sum(os.times()[:2])
        others = max(0.0, machine_busy() - busy - cpu - own) / (wall * os.cpu_count())
    print(json.dumps({
        "status": child.returncode,
        "cpu": cpu,
        "wall": wall,
        "peak_mib": usage.ru_maxrss / 1024,
        # Share of the machine that other programs took meanwhile.
        "others": others,
    }))
    sys.exit(child.returncode != 0)


if __name__ == "__main__":
    main()
