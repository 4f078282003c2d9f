"""A shop's folder to import into."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data

from offcut.importers.import_report import ImportReport
from offcut.importers.importing import import_files
from offcut.importers.problems import ImportRefused

PAYMENTS = "Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference"
ORDERS = "Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency"
LEDGER = """\
option "operating_currency" "USD"
2025-01-01 commodity HERON-STK
  stock: "product"
2025-01-01 commodity MOTH-STK
  stock: "product"
"""
SETTINGS = """\
[[items]]
text = "Heron*"
product = "HERON-STK"
[[items]]
text = "Moth*"
product = "MOTH-STK"
[[items]]
text = "Gift wrap"
account = "Income:Extras:Web"
"""


@dataclasses.dataclass(frozen=True)
class Shop:
    """A folder with a ledger, its settings, and files to import."""

    folder: Path

    @property
    def ledger(self) -> Path:
        """The main ledger file."""
        return self.folder / "main.beancount"

    def payments(self, *rows: str, name: str = "payments.csv") -> Path:
        """Write a file of the layout `card-payments`."""
        return self.file(name, PAYMENTS, *rows)

    def orders(self, *rows: str, name: str = "orders.csv") -> Path:
        """Write a file of the layout `shop-orders`."""
        return self.file(name, ORDERS, *rows)

    def file(self, name: str, *lines: str) -> Path:
        """Write a file of lines."""
        path = self.folder / name
        path.write_text("".join(f"{line}\n" for line in lines), "utf-8")
        return path

    def run(
        self,
        *files: Path,
        layouts: Sequence[str] = (),
        dry_run: bool = False,
        are_newer: bool = False,
    ) -> ImportReport:
        """Import files, and check that the report ties."""
        report = import_files(files, self.ledger, layouts, dry_run, are_newer=are_newer)
        assert report.ties
        return report

    def refused(self, *files: Path, layouts: Sequence[str] = ()) -> list[str]:
        """Import files that are refused, check that nothing changed, return the lines."""
        before = self.contents()
        with pytest.raises(ImportRefused) as caught:
            import_files(files, self.ledger, layouts)
        assert self.contents() == before
        return [str(problem) for problem in caught.value.problems]

    def contents(self) -> dict[str, bytes]:
        """Return the bytes of all files, by path in the folder.

        The lock is none of them, nor the cache that beancount keeps of a slow load.
        """
        return {
            str(path.relative_to(self.folder)): path.read_bytes()
            for path in sorted(self.folder.rglob("*"))
            if path.is_file() and not path.name.endswith((".lock", ".picklecache"))
        }

    def text(self, name: str) -> str:
        """Return the text of a file under `imports/`."""
        return (self.folder / "imports" / name).read_text("utf-8")

    def transactions(self) -> list[data.Transaction]:
        """Load the ledger, which must be sound; return its transactions."""
        entries, errors, _ = loader.load_file(str(self.ledger))
        assert [error.message for error in errors] == []
        return list(data.filter_txns(entries))

    def balances(self) -> dict[str, Decimal]:
        """Return the balance of every account that is not zero."""
        sums: dict[str, Decimal] = defaultdict(Decimal)
        for transaction in self.transactions():
            for posting in transaction.postings:
                sums[posting.account] += posting.units.number
        return {account: number for account, number in sorted(sums.items()) if number}


def new_shop(folder: Path, ledger: str = LEDGER, settings: str = SETTINGS) -> Shop:
    """Make a shop in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "main.beancount").write_text(ledger, "utf-8")
    (folder / "offcut.toml").write_text(settings, "utf-8")
    return Shop(folder)
