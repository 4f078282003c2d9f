"""Make the example: the books of an invented shop, with the files they are made from.

    python example_ledger/make_example.py [--to DIR]

The shop's story is in tables (`making/shop.py`, `making/story.py`); chance fills in who
ordered what, and falls the same way each time, so that every file comes out the same to
the byte. The months before the last are imported with offcut itself, one by one; the
last month's files are left in the inbox.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator
from pathlib import Path

from making import (
    bank_file,
    catalogue_file,
    main_file,
    papers,
    selling_files,
    shop,
    stock_files,
)
from making.exports import csv_files
from making.ledger_text import file_text
from making.trade import CHANNELS, make_movements, make_orders
from making.workshop import plan

from offcut.importers.importing import import_files

HERE = Path(__file__).resolve().parent
MAIN = "main.beancount"


def make_files() -> dict[str, str]:
    """Return the texts of all files that are not imported ones, by path."""
    orders = {channel: make_orders(channel) for channel in CHANNELS}
    movements = {channel: make_movements(channel, orders[channel]) for channel in CHANNELS}
    all_orders = [order for channel in CHANNELS for order in orders[channel]]
    all_movements = [each for channel in CHANNELS for each in movements[channel]]
    workshop = plan(all_orders, all_movements)

    purchases = list(stock_files.purchases(workshop.purchases))
    fairs = list(selling_files.fairs())
    wholesale = list(selling_files.wholesale())
    commissions = list(selling_files.commissions())
    afterwards = list(selling_files.afterwards(all_orders, all_movements))
    elsewhere = [*purchases, *fairs, *wholesale, *commissions, *afterwards]
    bank = bank_file.bank(elsewhere, all_orders, all_movements)
    files = {
        MAIN: main_file.MAIN,
        "offcut.toml": main_file.settings_text(),
        "catalogue.beancount": catalogue_file.catalogue_text(),
        "workshop.beancount": stock_files.workshop_text(workshop.runs, workshop.counts),
        "purchases.beancount": stock_files.purchases_text(purchases),
        "fairs.beancount": file_text(selling_files.FAIRS, fairs),
        "wholesale.beancount": file_text(selling_files.WHOLESALE, wholesale),
        "commissions.beancount": file_text(selling_files.COMMISSIONS, commissions),
        "afterwards.beancount": file_text(selling_files.AFTERWARDS, afterwards),
        "bank.beancount": file_text(bank_file.HEAD, bank),
        "trips.beancount": papers.trips_text(),
        "receipts.beancount": papers.receipts_text(),
        **papers.receipt_files(),
    }
    for month, texts in csv_files(orders, movements).items():
        folder = "inbox" if month == shop.LAST_MONTH else "exports"
        files.update({f"{folder}/{name}": text for name, text in texts.items()})
    return files


def make_example(folder: Path) -> None:
    """Write the example into an empty folder, its imports included."""
    files = make_files()
    for name, text in files.items():
        write(folder / name, text.encode())
    for month in shop.MONTHS:
        if month != shop.LAST_MONTH:
            names = [name for name in files if name.endswith(f"{month}.csv")]
            import_files([folder / name for name in names], folder / MAIN)


def write(path: Path, contents: bytes) -> None:
    """Write a file, and the folder that it is in."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(contents)


def outdated(folder: Path) -> Iterator[Path]:
    """Yield files of an example made before, that are not simply written over."""
    for month in shop.MONTHS:
        for place in ("imports", "exports", "inbox"):
            yield from sorted((folder / place).glob(f"*-{month}.*"))


def main() -> None:
    """Make the example anew, in its own folder or another."""
    parser = argparse.ArgumentParser(description="Make the example ledger anew.")
    parser.add_argument("--to", type=Path, default=HERE, metavar="DIR")
    target = parser.parse_args().to
    with tempfile.TemporaryDirectory() as made:
        make_example(Path(made))
        for path in outdated(target):
            path.unlink()
        for path in sorted(Path(made).rglob("*")):
            if path.is_file() and not path.name.startswith("."):
                write(target / path.relative_to(made), path.read_bytes())


if __name__ == "__main__":
    main()
