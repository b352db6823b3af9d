"""What is printed: a line for each target, and tables in Markdown."""

import os
import platform
import statistics


class Report:
    """Collects targets and tables; `binding` is False where figures are no ground to judge."""

    def __init__(self, binding: bool):
        self.binding = binding
        self.targets: list[tuple[str, str, str]] = []
        self.tables: list[str] = []
        self.failed = False

    def target(self, target: str, measured: str, met: bool):
        """A target and what was measured."""
        verdict = ("met" if met else "not met") if self.binding else "no verdict on a slice"
        self.failed |= self.binding and not met
        self.targets.append((target, measured, verdict))
        print(f"{target} | {measured} | {verdict}", flush=True)

    def skip(self, target: str, reason: str):
        """A target that could not be measured here."""
        self.targets.append((target, reason, "skipped"))
        print(f"{target} | {reason} | skipped", flush=True)

    def note(self, text: str):
        """A line beside the targets."""
        print(text, flush=True)

    def table(self, heading: list[str], rows: list[list[str]]):
        """A table; its first column is text, the others are numbers."""
        lines = [heading, ["---"] + ["---:"] * (len(heading) - 1), *rows]
        self.tables.append("\n".join(f"| {' | '.join(line)} |" for line in lines))

    def markdown(self) -> str:
        """The tables and the targets."""
        targets = [["target", "measured", "verdict"], ["---"] * 3, *map(list, self.targets)]
        lines = "\n".join(f"| {' | '.join(line)} |" for line in targets)
        return "\n\n".join([machine(), *self.tables, lines]) + "\n"


def machine() -> str:
    """The machine, in one line."""
    name = platform.processor() or platform.machine()
    try:
        with open("/proc/cpuinfo", encoding="utf-8") as file:
            names = [line.split(":", 1)[1].strip() for line in file if line.startswith("model name")]
        name = names[0] if names else name
    except OSError:
        pass
    return f"Measured on {name}, {os.cpu_count()} cores, {platform.system()}."


def median(values) -> float:
    """The median."""
    return statistics.median(values)


def spread(values) -> str:
    """Smallest and largest."""
    return f"{min(values):.2f} to {max(values):.2f}"
