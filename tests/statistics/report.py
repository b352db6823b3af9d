"""The lines of the checks: what | source | pairs compared | differences."""

import argparse
import math

# Two programs that work out the same formula in another order agree to this, relatively.
# The bar is issued for figures; counts must be equal.
TOLERANCE = 1e-9


class Check:
    """Compares pairs, counts those that differ, and prints the first few of them."""

    total_differences = 0

    def __init__(self, what, source, tolerance=TOLERANCE):
        self.what = what
        self.source = source
        self.tolerance = tolerance
        self.pairs = 0
        self.differences = 0
        self.largest = 0.0
        self.lines = []

    def equal(self, where, ours, theirs):
        """Counts and words: the same or not."""
        self.pairs += 1
        if ours != theirs:
            self._differ(where, ours, theirs)

    def close(self, where, ours, theirs, scale=0.0):
        """Figures: both missing, or within the tolerance of the larger one.

        `scale` is the size of what a difference was taken of: a difference of two rates is
        only as exact as the rates are.
        """
        self.pairs += 1
        if theirs is not None and not math.isfinite(theirs):
            theirs = None
        if ours is None or theirs is None or not math.isfinite(ours):
            if ours is not theirs:
                self._differ(where, ours, theirs)
            return
        size = max(abs(ours), abs(theirs), scale)
        apart = abs(ours - theirs) / size if size > 0 else 0.0
        self.largest = max(self.largest, apart)
        if not apart <= self.tolerance:
            self._differ(where, ours, theirs)

    def _differ(self, where, ours, theirs):
        self.differences += 1
        if len(self.lines) < 5:
            self.lines.append(f"    {where}: hobble {ours!r}, {self.source} {theirs!r}")

    def report(self):
        """Prints the line; a check that compared nothing is a difference."""
        if self.pairs == 0:
            self.differences += 1
            self.lines.append("    nothing was compared")
        largest = f" (largest {self.largest:.1e}, relative)" if self.largest > 0 else ""
        print(
            f"{self.what} | {self.source} | {self.pairs:,} compared | "
            f"{self.differences:,} differences{largest}",
            flush=True,
        )
        for line in self.lines:
            print(line, flush=True)
        Check.total_differences += self.differences
        return self.differences


def argument_parser(about):
    """What every check over tables takes; a check may add its own."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--hobble", required=True, help="the program")
    parser.add_argument("--data", required=True, help="folder of tables")
    parser.add_argument("--label", required=True, help="name of the games in the lines printed")
    return parser
