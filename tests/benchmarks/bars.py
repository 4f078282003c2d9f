"""All bars of speed as one table: what each benchmark measured, and what it may be.

    python tests/benchmarks/bars.py [--quick] [--rounds 3]

Runs every benchmark beside this file in a process of its own, one after the other, and
prints a Markdown table of the ratios that they found, with the day and the machine.
`--quick` takes ledgers of a tenth of the size: it shows that all of them run, and little
of how fast. With OFFCUT_DATA the whole open data set is imported as well.
"""

from __future__ import annotations

import argparse
import datetime
import os
import platform
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
# What marks a line of a benchmark's output as one for the table.
MARK = "bar:"


class Bar(NamedTuple):
    """A ratio that a benchmark found, and the most that it may be (None: none is set)."""

    what: str
    ratio: float
    most: float | None

    def row(self) -> str:
        """Return the bar as a row of a Markdown table."""
        most = "" if self.most is None else f"{self.most:.2f}"
        missed = self.most is not None and self.ratio > self.most
        return f"| {self.what} | {self.ratio:.2f} | {most} | {'missed' if missed else ''} |"


def print_bar(what: str, ratio: float, most: float | None) -> None:
    """Print a ratio so that `measured` finds it among a benchmark's output."""
    print(MARK, Bar(what, ratio, most).row())


def commands(quick: bool, rounds: int) -> Iterator[list[str]]:
    """Yield the benchmarks to run, each with its arguments."""
    size = 10_000 if quick else 100_000
    orders, several = f"--orders={size}", f"--rounds={rounds}"
    yield ["load_speed.py", orders, several, "--without-booked"]
    yield ["load_speed.py", orders, several, "--workshop"]
    yield ["report_speed.py", orders, f"--repeat={rounds}"]
    yield ["year_end_speed.py", orders, f"--repeat={rounds}"]
    yield ["viewer_speed.py", orders]
    yield ["import_speed.py", f"--lines={size}", several]
    yield ["month_into_large_ledger.py", orders, several]
    yield ["statement_speed.py", orders, several]
    yield ["costing_curve.py", f"--lines={10 * size}", f"--lots={size * 4 // 25}"]
    if not quick and "OFFCUT_DATA" in os.environ:
        yield ["import_speed.py", "--open-data", several]


def measured(command: list[str]) -> list[str]:
    """Return the rows for the table that one benchmark printed; show it at work."""
    print(*command, file=sys.stderr, flush=True)
    output = subprocess.run(
        [sys.executable, str(HERE / command[0]), *command[1:]],
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    ).stdout
    print(output, file=sys.stderr, flush=True)
    lines = output.splitlines()
    rows = [line.removeprefix(MARK).strip() for line in lines if line.startswith(MARK)]
    if not rows:
        raise SystemExit(f"{command[0]} printed no line that begins with {MARK!r}")
    return rows


def processor() -> str:
    """Return the name of the machine's processor, as far as the system tells."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    names = [line.partition(":")[2].strip() for line in lines if "model name" in line]
    return names[0] if names else platform.machine()


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--rounds", type=int, default=3, help="the best of so many counts")
    args = parser.parse_args()
    of_all = commands(args.quick, args.rounds)
    rows = [row for command in of_all for row in measured(command)]
    print(f"{datetime.date.today()}, {os.cpu_count()} x {processor()},", end=" ")
    print(f"Python {platform.python_version()}, load {os.getloadavg()[1]:.1f}\n")
    print("| measured | ratio | at most | |\n| --- | ---: | ---: | --- |")
    print("\n".join(rows))


if __name__ == "__main__":
    main()
