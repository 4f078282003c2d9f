"""Measure an import against what it costs merely to extract a posting a row.

    python tests/benchmarks/import_speed.py [--lines 100000] [--rounds 5]
    python tests/benchmarks/import_speed.py --open-data [--rounds 3]

One file of order lines is imported whole (read, checked, matched, joined, written and
added up) and then read by a `beangulp.importers.csvbase.Importer` that makes one bare
posting of each row. Both run by turns in one process; the best of each is compared, as
the machine's other work only ever adds. Then the peak memory of each, in processes of
their own.

With `--open-data` the file is as large as the UCI "Online Retail" data set (Chen, D.,
2015, doi 10.24432/C5BW33, CC BY 4.0): its first three months, found by OFFCUT_DATA, over
and over with other invoice numbers, until there are the 541,909 rows of the whole.
"""

from __future__ import annotations

import argparse
import csv
import io
import itertools
import lzma
import multiprocessing
import os
import random
import re
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from bars import print_bar
from beangulp.importers import csvbase

from offcut.importers.importing import import_files

PRODUCTS = 120
HEADER = (
    *("Order", "Date", "Item", "Quantity", "Unit price"),
    *("Discount", "Shipping", "Sales tax", "Currency"),
)
PRICES = ("4.00", "9.00", "18.00")

HERE = Path(__file__).parent
DATA = Path(os.environ.get("OFFCUT_DATA", HERE.parents[2] / "shared" / "data"))
ONLINE_RETAIL = DATA / "online-retail-2010-12_2011-02.csv.xz"
ONLINE_RETAIL_LAYOUT = HERE.parent / "importers" / "online_retail.toml"
ONLINE_RETAIL_ROWS = 541_909


class BareImporter(csvbase.Importer):
    """The least that csvbase can do with the file."""

    date = csvbase.Date("Date")
    narration = csvbase.Column("Item")
    amount = csvbase.Amount("Unit price")

    def identify(self, filepath: str) -> bool:
        """Return that it is ours."""
        return True


class BareRetailImporter(BareImporter):
    """The same for the open data."""

    date = csvbase.Date("InvoiceDate", "%Y-%m-%d %H:%M:%S")
    narration = csvbase.Column("Description")
    amount = csvbase.Amount("UnitPrice")


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


def write_whole_set(path: Path, rows: int = ONLINE_RETAIL_ROWS) -> int:
    """Write the open data until there are so many rows; return its invoices.

    Each time the invoices' numbers begin with another digit.
    """
    text = lzma.decompress(ONLINE_RETAIL.read_bytes()).decode("utf-8")
    header, *lines = csv.reader(io.StringIO(text, newline=""))
    invoices = set()
    with path.open("w", newline="", encoding="utf-8") as file:
        written = csv.writer(file)
        written.writerow(header)
        for at, (number, *cells) in enumerate(
            itertools.islice(itertools.cycle(lines), rows)
        ):
            again = at // len(lines)
            invoice = re.sub(r"(\d+)", rf"{again + 1}\1", number, count=1)
            invoices.add(invoice)
            written.writerow([invoice, *cells])
    return len(invoices)


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


def extract_retail(file: Path) -> None:
    """Extract one bare posting a row of the open data."""
    BareRetailImporter("Assets:Sales", "GBP").extract(str(file), [])


def import_once(file: Path, ledger: Path, layouts: Sequence[str] = ()) -> None:
    """Import a file, and check that it was."""
    report = import_files([file], ledger, layouts)
    (of_file,) = report.files
    there = of_file.booked + of_file.already_there + sum(of_file.left_out.values())
    if not (report.ties and there == of_file.rows):
        raise AssertionError(f"the import does not tie: {report}")


def import_retail(file: Path, ledger: Path) -> None:
    """Import the open data."""
    import_once(file, ledger, [str(ONLINE_RETAIL_LAYOUT)])


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
    parser.add_argument("--open-data", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = folder / "orders.csv"
        if options.open_data:
            orders, lines = write_whole_set(file), ONLINE_RETAIL_ROWS
            compare(file, folder, lines, options.rounds, extract_retail, import_retail)
        else:
            orders, lines = write_order_lines(file, options.lines), options.lines
            compare(file, folder, lines, options.rounds, extract, import_once)
        print(f"({lines} order lines, {orders} orders; load {os.getloadavg()[0]:.1f})")


def compare(
    file: Path,
    folder: Path,
    lines: int,
    rounds: int,
    extracting: Callable[[Path], None],
    importing: Callable[[Path, Path], None],
) -> None:
    """Print the times of both, by turns, and their memory."""
    bare, ours = [], []
    for number in range(rounds):
        ledger = new_ledger(folder / str(number))
        bare.append(timed(lambda: extracting(file)))
        ours.append(timed(lambda ledger=ledger: importing(file, ledger)))
    again = timed(lambda: importing(file, ledger))
    ratio = min(ours) / min(bare)
    print(f"csvbase, one posting a row: {min(bare):.2f} s (worst {max(bare):.2f})")
    print(f"import, all of it:          {min(ours):.2f} s (worst {max(ours):.2f})")
    print_bar(f"import of {lines:,} order lines / csvbase, bare postings", ratio, 1.0)
    print(f"import of the same again:   {again:.2f} s")
    peak = new_ledger(folder / "peak")
    print(f"peak memory over the start: csvbase {peak_memory(extracting, file):.0f} MiB")
    print(
        f"                            import {peak_memory(importing, file, peak):.0f} MiB"
    )


if __name__ == "__main__":
    main()
