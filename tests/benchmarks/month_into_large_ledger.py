"""Measure what a large ledger adds to the import of one month.

    python tests/benchmarks/month_into_large_ledger.py [--orders 100000] [--month 500]

A month of orders and their payments is imported into a ledger that has nothing yet, and
into one that has so many orders already; what was added is taken away again after each
round. The ledger is never loaded. What is known of its files is kept from one import to
the next; without that, as in the first one, its whole text is searched. Then the month
is imported once more while it is there. The best of the rounds are compared, in seconds
of the processor, as the machine may have other work.
"""

from __future__ import annotations

import argparse
import csv
import os
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from bars import print_bar
from import_speed import HEADER, import_once, new_ledger, write_order_lines

from offcut.importers.facts_cache import SETTLED
from offcut.importers.importing import import_files

PAYMENTS = (
    *("Date", "Type", "Order", "Description", "Gross", "Fee", "Net"),
    *("Currency", "Reference"),
)
MONTH = "2026-01"


def write_month(folder: Path, orders: int) -> list[Path]:
    """Write a month's order lines and payments; return their files."""
    lines, payments = folder / "month-orders.csv", folder / "month-payments.csv"
    with lines.open("w", newline="") as first, payments.open("w", newline="") as second:
        of_orders, of_payments = csv.writer(first), csv.writer(second)
        of_orders.writerow(HEADER)
        of_payments.writerow(PAYMENTS)
        for number in range(orders):
            order, day = f"N{number}", f"{MONTH}-{1 + number % 28:02d}"
            item = f"Design {number % 120}, 3 in sticker"
            of_orders.writerow([order, day, item, 2, "4.00", "0.00", "2.50", "0.50", "USD"])
            row = [day, "Sale", order, "", "11.00", "0.61", Decimal("10.39"), "USD"]
            of_payments.writerow([*row, f"ch_{number}"])
    return [lines, payments]


def import_month(files: list[Path], ledger: Path, new: bool = True) -> None:
    """Import the month, and check that it was new, or there."""
    report = import_files(files, ledger)
    numbers = [file.booked if new else file.already_there for file in report.files]
    if not report.ties or numbers != [file.rows for file in report.files]:
        raise AssertionError(f"the import does not tie: {report}")


def take_away(ledger: Path) -> None:
    """Take the month out of a ledger."""
    for path in (ledger.parent / "imports").glob(f"*-{MONTH}.beancount"):
        path.unlink()


def timed(work: Callable[[], None]) -> float:
    """Return the seconds of the processor that some work takes."""
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--month", type=int, default=500)
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["XDG_CACHE_HOME"] = str(folder / "kept")
        small, large = new_ledger(folder / "small"), new_ledger(folder / "large")
        before = folder / "before.csv"
        orders = write_order_lines(before, options.orders * 5 // 3)
        import_once(before, large)
        size = sum(path.stat().st_size for path in large.parent.rglob("*.beancount"))
        files = write_month(folder, options.month)
        time.sleep(SETTLED / 1e9)
        seconds: dict[str, list[float]] = defaultdict(list)

        def measure(which: str, ledger: Path, new: bool = True) -> None:
            seconds[which].append(timed(lambda: import_month(files, ledger, new)))

        for _ in range(options.rounds):
            for kept in (folder / "kept").rglob("*.facts"):
                kept.unlink()
            for which, ledger in (("small", small), ("first", large), ("large", large)):
                measure(which, ledger)
                if which != "first":
                    measure(f"{which} again", ledger, new=False)
                take_away(ledger)
    best = {which: min(times) for which, times in seconds.items()}
    print(f"{options.month} orders and payments, seconds of the processor:")
    for title, which in (
        ("into a ledger of no orders", "small"),
        (f"into one of {orders} orders, {size / 2**20:.0f} MiB", "large"),
        ("  with nothing known of its files", "first"),
        ("the same again, into the small one", "small again"),
        ("the same again, into the large one", "large again"),
    ):
        print(f"  {title + ':':42} {best[which]:.3f}")
    print(f"(best of {options.rounds}; load {os.getloadavg()[0]:.1f})")
    into = f"a month into {orders:,} orders / into an empty ledger"
    print_bar(into, best["large"] / best["small"], None)
    print_bar(f"{into}, the first time", best["first"] / best["small"], None)


if __name__ == "__main__":
    main()
