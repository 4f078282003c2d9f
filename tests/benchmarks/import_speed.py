"""Measure an import against what it costs merely to extract a posting a row.

    python tests/benchmarks/import_speed.py [--lines 100000] [--rounds 5]

One file of order lines is imported whole (read, checked, matched, joined, written and
added up) and then read by a `beangulp.importers.csvbase.Importer` that makes one bare
posting of each row. Both run by turns in one process; the best of each is compared, as
the machine's other work only ever adds. Then the peak memory of each, in processes of
their own.
"""

from __future__ import annotations

import argparse
import csv
import multiprocessing
import random
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from beangulp.importers import csvbase

from offcut.importers.importing import import_files

PRODUCTS = 120
HEADER = (
    *("Order", "Date", "Item", "Quantity", "Unit price"),
    *("Discount", "Shipping", "Sales tax", "Currency"),
)
PRICES = ("4.00", "9.00", "18.00")


class BareImporter(csvbase.Importer):
    """The least that csvbase can do with the file."""

    date = csvbase.Date("Date")
    narration = csvbase.Column("Item")
    amount = csvbase.Amount("Unit price")

    def identify(self, filepath: str) -> bool:
        """Return that it is ours."""
        return True


def item_text(product: int) -> str:
    """Return the text that the file has for a product."""
    return f"Design {product}, 3 in sticker"


def write_order_lines(path: Path, lines: int, seed: int = 1) -> int:
    """Write a file of order lines in the layout `shop-orders`; return its orders."""
    chance = random.Random(seed)
    orders, written = 0, 0
    with path.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file)
        rows.writerow(HEADER)
        while written < lines:
            orders += 1
            day = f"2025-{1 + written * 12 // lines:02d}-{chance.randint(1, 28):02d}"
            shipping, tax = chance.choice(("2.50", "4.00")), f"0.{chance.randint(10, 99)}"
            for _ in range(min(chance.choice((1, 1, 1, 2, 2, 3)), lines - written)):
                written += 1
                product = chance.randrange(PRODUCTS)
                price = PRICES[product % len(PRICES)]
                pieces = chance.choice((1, 1, 2, 3))
                row = (f"W{orders}", day, item_text(product), pieces, price, "0.00")
                rows.writerow((*row, shipping, tax, "USD"))
    return orders


def new_ledger(folder: Path) -> Path:
    """Make a ledger that declares the products, and rules for their item texts."""
    folder.mkdir(parents=True)
    ledger = folder / "main.beancount"
    ledger.write_text(
        "".join(
            f'2025-01-01 commodity STK-{product:03d}\n  stock: "product"\n'
            for product in range(PRODUCTS)
        )
    )
    (folder / "offcut.toml").write_text(
        "".join(
            f'[[items]]\ntext = "{item_text(product)}"\nproduct = "STK-{product:03d}"\n'
            for product in range(PRODUCTS)
        )
    )
    return ledger


def timed(work: Callable[[], object]) -> float:
    """Return the seconds that some work takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def extract(file: Path) -> None:
    """Extract one bare posting a row."""
    BareImporter("Assets:Sales", "USD").extract(str(file), [])


def import_once(file: Path, ledger: Path) -> None:
    """Import a file, and check that it was."""
    report = import_files([file], ledger)
    if not (report.ties and report.files[0].booked == report.files[0].rows):
        raise AssertionError(f"the import does not tie: {report}")


def peak_memory(work: Callable[..., None], *given: Path) -> float:
    """Return the most MiB that some work takes over the start of a process of its own."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_memory, (work, *given))


def _memory(work: Callable[..., None], *given: Path) -> float:
    before = _high_water()
    work(*given)
    return (_high_water() - before) / 1024


def _high_water() -> int:
    """Return the most KiB that this process has had in memory (Linux only)."""
    lines = Path("/proc/self/status").read_text().splitlines()
    (size,) = (line.split()[1] for line in lines if line.startswith("VmHWM:"))
    return int(size)


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--lines", type=int, default=100_000)
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = folder / "orders.csv"
        orders = write_order_lines(file, options.lines)
        print(f"{options.lines} order lines, {orders} orders")
        bare, ours = [], []
        for number in range(options.rounds):
            ledger = new_ledger(folder / str(number))
            bare.append(timed(lambda: extract(file)))
            ours.append(timed(lambda ledger=ledger: import_once(file, ledger)))
        again = timed(lambda: import_files([file], ledger))
        ratio = min(ours) / min(bare)
        print(f"csvbase, one posting a row: {min(bare):.2f} s (worst {max(bare):.2f})")
        print(f"import, all of it:          {min(ours):.2f} s (worst {max(ours):.2f})")
        print(f"ratio:                      {ratio:.2f} (at most 1.00)")
        print(f"import of the same again:   {again:.2f} s")
        print(
            f"peak memory over the start: csvbase {peak_memory(extract, file):.0f} MiB, ",
            end="",
        )
        print(
            f"import {peak_memory(import_once, file, new_ledger(folder / 'peak')):.0f} MiB"
        )


if __name__ == "__main__":
    main()
