"""What the stock plugin adds to the time that beancount takes to load a ledger.

    python tests/benchmarks/load_speed.py [--orders 100000] [--rounds 3] [--workshop]

Loads the same generated ledger bare, with the stock plugin, and relieved by beancount's
own first-in-first-out booking instead, each in a process of its own and in turn, and
prints the best of the rounds as ratios to the bare load.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

from bars import print_bar
from generated_ledger import write_ledger

LOAD = """
import resource, sys, time
from beancount import loader
text = open(sys.argv[1], encoding="utf-8").read()
start = time.process_time()
entries, errors, options = loader.load_string(text)
seconds = time.process_time() - start
assert not errors, errors[0]
print(seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""

NAMES = {
    "none": "bare beancount",
    "plugin": "offcut.plugins.stock",
    "booked": "beancount's FIFO",
}


def measure(path: Path) -> tuple[float, float]:
    """Return processor seconds and peak memory in MiB of loading a ledger once."""
    output = subprocess.run(
        [sys.executable, "-c", LOAD, str(path)], check=True, capture_output=True, text=True
    ).stdout
    seconds, memory = output.split()
    return float(seconds), float(memory)


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--orders", type=int, default=100_000)
    options.add_argument("--products", type=int, default=120)
    options.add_argument("--rounds", type=int, default=3)
    options.add_argument("--without-booked", action="store_true")
    options.add_argument(
        "--workshop", action="store_true", help="with runs, counts, parcels"
    )
    args = options.parse_args()
    reliefs = ["none", "plugin"]
    if not args.without_booked and not args.workshop:
        reliefs.append("booked")

    with tempfile.TemporaryDirectory() as folder:
        paths = {relief: Path(folder, f"{relief}.beancount") for relief in reliefs}
        for relief, path in paths.items():
            write_ledger(path, args.orders, args.products, relief, workshop=args.workshop)
        runs: dict[str, list[tuple[float, float]]] = {relief: [] for relief in paths}
        for _ in range(args.rounds):
            for relief, path in paths.items():
                runs[relief].append(measure(path))

    bare = min(seconds for seconds, _ in runs["none"])
    print(f"{args.orders:,} orders, {args.products} products, best of {args.rounds}")
    for relief, results in runs.items():
        seconds = min(seconds for seconds, _ in results)
        memory = max(memory for _, memory in results)
        ratio = seconds / bare
        print(f"{NAMES[relief]:22} {seconds:7.2f} s  {ratio:5.2f}  {memory:6,.0f} MiB")
        if relief == "plugin":
            workshop = ", with runs, counts and parcels" if args.workshop else ""
            print_bar(f"load with the stock plugin / bare load{workshop}", ratio, 1.25)


if __name__ == "__main__":
    main()
