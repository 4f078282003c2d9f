"""Keep the papers that a tax office asks for: the log of trips, and receipts."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal as D
from typing import NamedTuple

from making.ledger_text import Entry, directive, file_text
from making.story import day

TRIPS_HEAD = """\
Trips for the shop in my own car, in miles, as I noted them in the car.

They cost nothing in the books. What the tax rules allow for each mile is worked out at
tax time; a hired van and a barrow are bills of their own (fairs.beancount).
"""
RECEIPTS_HEAD = """\
Receipts: the bills that I kept, in the folder of that name.

Each goes with what was booked on its day to its account, or with what has its link. One
is named where it was booked, by `document` (bank.beancount). I lose the post office's.
"""


class Trip(NamedTuple):
    """A trip by own car.

    Attributes:
      marks: The fair or the channel that it was for, as metadata.
    """

    date: str
    miles: int
    purpose: str
    marks: tuple[tuple[str, object], ...] = ()


WHOLESALE = (("channel", "Wholesale"),)
COMMISSION = (("channel", "Commission"),)

# fmt: off
TRIPS = (
    Trip("2024-11-02", 22, "The tool dealer, to fetch the cutting plotter"),
    Trip("2025-01-15", 46, "Brackenquay, to show the stationer samples", WHOLESALE),
    Trip("2025-07-09", 18, "The boatyard, to hand over the sloop", COMMISSION),
    Trip("2025-09-29", 22, "The tool dealer, to fetch the printer"),
    Trip("2025-12-06", 7, "Lantern walk, there and back with lamps and crates",
         (("event", "lantern-walk-2025"),)),
    Trip("2025-12-07", 7, "Lantern walk, there and back",
         (("event", "lantern-walk-2025"),)),
    Trip("2026-01-19", 46, "Brackenquay, to show the stationer new designs", WHOLESALE),
    Trip("2026-02-14", 9, "The print hall, two prints for its window"),
    Trip("2026-09-07", 12, "The mill, to hand over the house portrait", COMMISSION),
    Trip("2026-09-12", 8, "The van hire, where my car stayed the night",
         (("event", "inland-craft-day-2026"),)),
    Trip("2026-09-13", 8, "Home from the van hire",
         (("event", "inland-craft-day-2026"),)),
)
# fmt: on


class Receipt(NamedTuple):
    """A bill that was kept.

    Attributes:
      name: Its file in the folder, after the day and without the ending.
      account: What it was booked to; empty where the booking names the file itself.
      amount: What it says.
      link: The link of what it was for, where it goes by that.
    """

    date: str
    name: str
    account: str
    payee: str
    what: str
    amount: str
    link: str = ""

    @property
    def path(self) -> str:
        """Where it is, seen from the ledger's folder."""
        return f"receipts/{self.date}-{self.name}.txt"

    @property
    def text(self) -> str:
        """What is written on it."""
        total = f"Total {D(self.amount)} USD, paid."
        lines = (self.payee, self.date, "", f"To Moth & Lantern Prints: {self.what}", total)
        return "\n".join(lines) + "\n"


TABLES, TRAVEL = "Expenses:Events:TableFees", "Expenses:Events:Travel"

# fmt: off
RECEIPTS = (
    Receipt("2024-11-02", "plotter", "Expenses:Equipment:Cutter", "The tool dealer",
            "cutting plotter, second hand", "285.00"),
    Receipt("2025-02-18", "holographic", "Assets:Stock:FOG-HOL",
            "The sticker manufacturer",
            "400 holographic stickers at 0.42, set-up 38.00", "206.00",
            "purchase-holographic"),
    Receipt("2025-03-20", "harbour-fair", TABLES, "The harbour trust",
            "a table for two days", "85.00"),
    Receipt("2025-08-04", "programme", "Expenses:Marketing:Advertising",
            "The festival office", "half a page in the programme", "220.00"),
    Receipt("2025-09-29", "printer", "Assets:Equipment:Printer", "The tool dealer",
            "pigment printer, display model", "480.00"),
    Receipt("2025-11-20", "insurance", "", "The insurer", "cover for a year", "174.00"),
    Receipt("2026-07-02", "craft-day", TABLES, "The craft day office",
            "a table for two days", "145.00"),
    Receipt("2026-09-11", "room", TRAVEL, "The inn", "a room, one night", "88.00"),
)
# fmt: on


def trips_text() -> str:
    """Return trips.beancount."""
    return file_text(
        TRIPS_HEAD,
        [
            directive(
                day(trip.date),
                f'custom "mileage" {trip.miles} "{trip.purpose}"',
                meta=trip.marks,
            )
            for trip in TRIPS
        ],
    )


def receipts_text() -> str:
    """Return receipts.beancount."""
    return file_text(RECEIPTS_HEAD, _documents())


def receipt_files() -> dict[str, str]:
    """Return the texts of the receipts, by path."""
    return {receipt.path: receipt.text for receipt in RECEIPTS}


def _documents() -> Iterator[Entry]:
    """Yield a directive for each receipt that no booking names."""
    for receipt in RECEIPTS:
        if receipt.account:
            link = f" ^{receipt.link}" if receipt.link else ""
            text = f'document {receipt.account} "{receipt.path}"{link}'
            yield directive(day(receipt.date), text)
