"""Measure what a large ledger adds to the import of one month.

    python tests/benchmarks/month_into_large_ledger.py [--orders 100000] [--month 500]

A month of orders and their payments is imported into a ledger that has nothing yet, and
into one that has so many orders already; what was added is taken away again after each
round. The ledger is never loaded: its text is searched for ids, and that search is timed
by itself, too. The best of the rounds are compared.
"""

from __future__ import annotations

import argparse
import csv
import os
import tempfile
from decimal import Decimal
from pathlib import Path

from import_speed import HEADER, import_once, new_ledger, timed, write_order_lines

from offcut.importers.importing import import_files
from offcut.importers.known import scan_ledger

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


def import_month(files: list[Path], ledger: Path) -> None:
    """Import the month, and check that it was new."""
    report = import_files(files, ledger)
    if not report.ties or any(file.booked != file.rows for file in report.files):
        raise AssertionError(f"the import does not tie: {report}")


def take_away(ledger: Path) -> None:
    """Take the month out of a ledger."""
    for path in (ledger.parent / "imports").glob(f"*-{MONTH}.beancount"):
        path.unlink()


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--month", type=int, default=500)
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small, large = new_ledger(folder / "small"), new_ledger(folder / "large")
        before = folder / "before.csv"
        orders = write_order_lines(before, options.orders * 5 // 3)
        import_once(before, large)
        size = sum(path.stat().st_size for path in large.parent.rglob("*.beancount"))
        files = write_month(folder, options.month)
        seconds: dict[str, list[float]] = {"small": [], "large": [], "search": []}
        for _ in range(options.rounds):
            for which, ledger in (("small", small), ("large", large)):
                seconds[which].append(timed(lambda to=ledger: import_month(files, to)))
                take_away(ledger)
            seconds["search"].append(timed(lambda: scan_ledger(large)))
    best = {which: min(times) for which, times in seconds.items()}
    print(f"{options.month} orders and payments into a ledger of")
    print(f"  no orders:                   {best['small']:.3f} s")
    print(f"  {orders} orders, {size / 2**20:.0f} MiB:      {best['large']:.3f} s")
    print(f"  of that the search for ids:  {best['search']:.3f} s")
    print(f"(best of {options.rounds}; load {os.getloadavg()[0]:.1f})")


if __name__ == "__main__":
    main()
