"""Tables of what happened in the invented shop outside its web pages.

Pieces are written as in the shop's own notes: "14 HERON-STK, 6 CAT-SHT".
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal as D
from typing import NamedTuple


def day(text: str) -> datetime.date:
    """Return a date from its ISO form."""
    return datetime.date.fromisoformat(text)


def pieces(text: str) -> Iterator[tuple[int, str]]:
    """Yield the numbers and the commodities of a list of pieces."""
    for part in text.split(", "):
        number, code = part.split()
        yield int(number), code


class Cost(NamedTuple):
    """Something paid from the bank for a fair."""

    date: str
    payee: str
    narration: str
    account: str
    amount: str


class FairDay(NamedTuple):
    """One day at a table.

    Attributes:
      sold: Pieces sold, at list prices, which include sales tax there.
      cash: What was paid in coins and notes; the rest went through the card reader.
    """

    date: str
    title: str
    sold: str
    cash: str


class Fair(NamedTuple):
    """A fair: its table, the way there, its days."""

    name: str
    event: str
    comment: str
    costs: tuple[Cost, ...]
    days: tuple[FairDay, ...]


TABLE, TRAVEL = "Expenses:Events:TableFees", "Expenses:Events:Travel"

FAIRS = (
    Fair(
        "Harbour fair 2025",
        "harbour-fair-2025",
        "My first fair. On foot from home with two crates; the cats sold out by noon.",
        (
            Cost("2025-03-20", "The harbour trust", "Table, two days", TABLE, "85.00"),
            Cost("2025-05-23", "The harbour trust", "Barrow", TRAVEL, "6.00"),
        ),
        (
            FairDay(
                "2025-05-24",
                "Saturday, dry and busy",
                "14 HERON-STK, 9 MOTH-STK, 7 FERRY-STK, 21 CAT-STK, 6 CAT-SHT, "
                "4 FERN-SHT, 3 HERON-PRT, 2 FERRY-PRT, 1 TIDE-PRT, 9 TIDE-CRD, "
                "4 KITES-CRD",
                "164.00",
            ),
            FairDay(
                "2025-05-25",
                "Sunday",
                "8 HERON-STK, 6 MOTH-STK, 4 LANTERN-STK, 11 CAT-STK, 3 CAT-SHT, "
                "2 KELP-SHT, 2 MOTH-PRT, 1 FERN-PRT, 6 MOORING-CRD, 1 PIER-PRT",
                "97.00",
            ),
        ),
    ),
    Fair(
        "Lantern walk 2025",
        "lantern-walk-2025",
        "The best weekend of the year: everyone in town walks past the table with a\n"
        "lantern, looking for presents.",
        (
            Cost("2025-10-06", "The lantern walk society", "Table", TABLE, "110.00"),
            Cost("2025-12-01", "The print hall", "Lamps and a cloth", TRAVEL, "18.40"),
        ),
        (
            FairDay(
                "2025-12-06",
                "First evening",
                "16 HERON-STK, 14 MOTH-STK, 9 LANTERN-STK, 18 CAT-STK, 8 CAT-SHT, "
                "6 FERN-SHT, 6 FOG-HOL, 6 HERON-PRT, 4 MOTH-PRT, 5 MOORING-PRT, "
                "3 MOON-PRT, 16 MOORING-CRD, 1 PIER-PRT",
                "318.00",
            ),
            FairDay(
                "2025-12-07",
                "Second evening",
                "12 HERON-STK, 9 MOTH-STK, 12 LANTERN-STK, 12 CAT-STK, 5 CAT-SHT, "
                "4 KELP-STK, 4 HERON-PRT, 3 FERRY-PRT, 4 MOORING-PRT, 2 FERN-PRT, "
                "12 MOORING-CRD",
                "236.50",
            ),
        ),
    ),
    Fair(
        "Harbour fair 2026",
        "harbour-fair-2026",
        "Same table as last year, and twenty more for it.",
        (
            Cost("2026-03-16", "The harbour trust", "Table, two days", TABLE, "105.00"),
            Cost("2026-05-22", "The harbour trust", "Barrow", TRAVEL, "7.00"),
        ),
        (
            FairDay(
                "2026-05-23",
                "Saturday",
                "13 HERON-STK, 10 MOTH-STK, 8 FERRY-STK, 24 CAT-STK, 7 CAT-SHT, "
                "5 KELP-SHT, 8 FOG-HOL, 4 HERON-PRT, 2 TIDE-PRT, 3 MOON-PRT, "
                "10 TIDE-CRD",
                "201.00",
            ),
            FairDay(
                "2026-05-24",
                "Sunday, wind took the gazebo next door",
                "6 HERON-STK, 5 FOXGLOVE-STK, 9 CAT-STK, 3 CAT-SHT, 4 FOG-HOL, "
                "1 FERRY-PRT, 1 MOON-PRT, 4 KITES-CRD",
                "64.00",
            ),
        ),
    ),
    Fair(
        "Inland craft day 2026",
        "inland-craft-day-2026",
        "Two hours on the road, a room for the night, and rain both days. Not again.",
        (
            Cost("2026-07-02", "The craft day office", "Table, two days", TABLE, "145.00"),
            Cost("2026-09-11", "The inn", "Room, one night", TRAVEL, "88.00"),
            Cost("2026-09-13", "The van hire", "Van, two days, fuel", TRAVEL, "96.40"),
        ),
        (
            FairDay(
                "2026-09-12",
                "Saturday, rain",
                "4 HERON-STK, 3 MOTH-STK, 5 CAT-STK, 1 CAT-SHT, 2 FOG-HOL, "
                "1 HERON-PRT, 3 TIDE-CRD",
                "33.00",
            ),
            FairDay(
                "2026-09-13",
                "Sunday, more rain, packed up at two",
                "2 HERON-STK, 3 CAT-STK, 1 FERN-SHT, 2 KITES-CRD",
                "15.00",
            ),
        ),
    ),
)


class WholesaleOrder(NamedTuple):
    """An order of the one shop that buys at half of the list price.

    Attributes:
      paid: The day that the money came; empty where it has not yet.
      label: What the parcel's postage cost.
    """

    number: str
    date: str
    paid: str
    sold: str
    label: str
    comment: str = ""


STATIONER = "Brackenquay Stationers"

# fmt: off
WHOLESALE = (
    WholesaleOrder("S1", "2025-01-20", "2025-02-24",
                   "12 HERON-STK, 12 MOTH-STK, 12 CAT-STK, 6 CAT-SHT", "6.80",
                   "A first small order; they put a rack by the till."),
    WholesaleOrder("S2", "2025-03-10", "2025-04-14",
                   "24 CAT-STK, 12 HERON-STK, 6 FERN-SHT", "6.80"),
    WholesaleOrder("S3", "2025-04-28", "2025-06-02",
                   "24 CAT-STK, 12 LANTERN-STK, 4 HERON-PRT, 4 PIER-PRT", "8.35",
                   "They asked for Quiet Pier at half price like the rest. At 6.00\n"
                   "it does not pay for its copper leaf, as profit by design shows."),
    WholesaleOrder("S4", "2025-06-16", "2025-07-21",
                   "18 HERON-STK, 18 MOTH-STK, 12 KELP-STK", "6.80"),
    WholesaleOrder("S5", "2025-08-11", "2025-09-22",
                   "24 CAT-STK, 8 CAT-SHT, 12 FOG-HOL", "7.10"),
    WholesaleOrder("S6", "2025-09-29", "2025-11-03",
                   "12 HERON-STK, 12 MOTH-STK, 6 MOORING-PRT, 20 MOORING-CRD, 4 PIER-PRT",
                   "9.20"),
    WholesaleOrder("S7", "2025-11-10", "2025-12-22",
                   "30 CAT-STK, 24 HERON-STK, 12 LANTERN-STK, 8 FERN-SHT, 30 MOORING-CRD",
                   "9.65", "Their Christmas order."),
    WholesaleOrder("S8", "2026-01-26", "2026-03-02",
                   "12 MOTH-STK, 12 FERRY-STK, 12 FOXGLOVE-STK", "7.10"),
    WholesaleOrder("S9", "2026-03-16", "2026-04-20",
                   "24 CAT-STK, 8 CAT-SHT, 6 KELP-SHT", "7.10"),
    WholesaleOrder("S10", "2026-05-04", "2026-06-15",
                   "18 HERON-STK, 12 FOG-HOL, 4 HERON-PRT, 4 MOON-PRT", "9.20",
                   "Paid a week late; a friendly word was enough."),
    WholesaleOrder("S11", "2026-06-29", "2026-08-03",
                   "24 CAT-STK, 12 MOTH-STK, 12 KELP-STK", "7.10"),
    WholesaleOrder("S12", "2026-08-24", "2026-09-28",
                   "24 HERON-STK, 12 LANTERN-STK, 8 FERN-SHT", "7.40"),
    WholesaleOrder("S13", "2026-10-12", "",
                   "30 CAT-STK, 24 MOTH-STK, 6 MOORING-PRT, 30 MOORING-CRD, 6 PIER-PRT",
                   "9.95", "Not paid yet at the end of October. Quiet Pier once more at\n"
                   "half price, because I had promised."),
)
# fmt: on


class Commission(NamedTuple):
    """A piece drawn for one customer.

    Attributes:
      ordered: The day of the deposit, half of the price.
      done: The day that it was handed over and paid.
      price: Its price, before sales tax.
      home: Whether sales tax is due on it.
      materials: What was used up for it.
    """

    number: str
    title: str
    ordered: str
    done: str
    price: str
    home: bool
    materials: str


# fmt: off
COMMISSIONS = (
    Commission("C1", "Place cards for a wedding", "2025-02-11", "2025-03-28", "180.00",
               True, "16 CARD"),
    Commission("C2", "A sloop, for its owner's wall", "2025-06-03", "2025-07-09",
               "140.00", True, "3 COTTON"),
    Commission("C3", "Labels for a jam maker", "2025-09-08", "2025-09-30", "95.00",
               False, "14 VINYL"),
    Commission("C4", "Portrait of a cat named Biscuit", "2025-11-17", "2025-12-15",
               "120.00", True, "2 COTTON"),
    Commission("C5", "Menu cards for a supper club", "2026-04-13", "2026-05-11",
               "210.00", False, "24 CARD"),
    Commission("C6", "House portrait", "2026-08-03", "2026-09-07", "150.00", True,
               "3 COTTON"),
)
# fmt: on


class FixedRun(NamedTuple):
    """A print run that went its own way."""

    date: str
    product: str
    good: int
    spoiled: int
    minutes: int
    comment: str


# fmt: off
FIXED_RUNS = (
    FixedRun("2025-03-12", "PIER-PRT", 24, 20, 360,
             "Misprinted: the size had not dried before the leaf went on, and twenty\n"
             "peeled. Some spoilage is normal and stays in the cost of the good prints;\n"
             "what is above 10 % of them is an expense of its own."),
)
# fmt: on


class Giveaway(NamedTuple):
    """Pieces that left without a sale."""

    date: str
    pieces: str
    account: str
    comment: str


GIFTS, SAMPLES = "Expenses:Marketing:Giveaways", "Expenses:Marketing:Samples"

# fmt: off
GIVEAWAYS = (
    Giveaway("2024-12-14", "30 KITES-CRD", GIFTS, "A card in every December parcel."),
    Giveaway("2025-01-15", "3 HERON-STK", SAMPLES, "Samples for the stationer."),
    Giveaway("2025-01-15", "2 CAT-SHT", SAMPLES, ""),
    Giveaway("2025-04-12", "40 KITES-CRD", GIFTS, "Spring: a card in every parcel."),
    Giveaway("2025-05-25", "6 CAT-STK", GIFTS, "For the children at the next table."),
    Giveaway("2025-11-29", "60 KITES-CRD", GIFTS, "A card in every parcel again."),
    Giveaway("2026-02-14", "2 PIER-PRT", SAMPLES, "For the print hall's window."),
    Giveaway("2026-04-18", "40 KITES-CRD", GIFTS, "And in spring."),
    Giveaway("2026-06-06", "4 FOG-HOL", GIFTS, "Raffle of the harbour trust."),
)
# fmt: on

# The holographic stickers cannot be printed at home.
MANUFACTURER_ORDER = day("2025-02-18")
MANUFACTURER_FREIGHT_BILL = day("2025-03-04")
MANUFACTURER_PIECES = 400
MANUFACTURER_EACH = D("0.42")
MANUFACTURER_SET_UP, MANUFACTURER_FREIGHT = D("38.00"), D("26.00")

COUNT_DAYS = (day("2025-06-30"), day("2025-12-31"), day("2026-06-30"))
# What the shelf had less (or more) than the books, by count.
MISCOUNTS = {
    ("2025-06-30", "CAT-STK"): -3,
    ("2025-06-30", "TIDE-CRD"): -2,
    ("2025-12-31", "HERON-STK"): -2,
    ("2025-12-31", "FERN-PRT"): -1,
    ("2025-12-31", "MOORING-CRD"): 1,
    ("2026-06-30", "CAT-SHT"): -1,
    ("2026-06-30", "MOTH-STK"): -4,
    ("2026-06-30", "STAMP-LETTER"): -3,
    ("2025-12-31", "STAMP-LETTER"): -5,
}

OPENING_CAPITAL = D("2400.00")
DRAWINGS = {"2025-02": D("300.00"), "2025-07": D("550.00"), "2026-02": D("750.00")}
# A quarter of the year before's tax each time, and what was left with the return; in the
# second year what the year looked like.
ESTIMATED_TAX = {
    "2025-04-15": D("140.00"),
    "2025-06-16": D("140.00"),
    "2025-09-15": D("140.00"),
    "2026-01-15": D("140.00"),
    "2026-04-15": D("350.00"),
    "2026-06-15": D("350.00"),
    "2026-09-15": D("350.00"),
}
TAX_RETURN_DAY, TAX_RETURN_YEAR = "2026-04-15", "2025"
TAX_WITH_RETURN = D("1066.00")
# Put by for it, once it was clear that there would be something to pay.
TAX_SET_ASIDE = {
    "2025-10-31": D("600.00"),
    "2025-12-31": D("720.00"),
    "2026-03-31": D("300.00"),
    "2026-05-31": D("300.00"),
    "2026-07-31": D("200.00"),
    "2026-08-31": D("200.00"),
}


class Bill(NamedTuple):
    """Something else that was paid from the bank."""

    date: str
    payee: str
    narration: str
    account: str
    amount: str
    comment: str = ""
    meta: tuple[tuple[str, str], ...] = ()


HOSTING = D("24.00")
# fmt: off
BILLS = (
    Bill("2024-11-02", "The tool dealer", "Cutting plotter, second hand",
         "Expenses:Equipment:Cutter", "285.00"),
    Bill("2024-11-20", "The insurer", "Cover for a year", "Expenses:Office:Insurance",
         "168.00"),
    Bill("2025-05-07", "The tool dealer", "Blades, mats", "Expenses:Equipment:Cutter",
         "34.60"),
    Bill("2025-08-04", "The festival office", "Half a page in the programme",
         "Expenses:Marketing:Advertising", "220.00",
         "All for Paper Kites, the festival's picture: `item` puts the cost there.",
         (("item", "KITES-CRD"),)),
    Bill("2025-09-29", "The tool dealer", "Pigment printer, display model",
         "Assets:Equipment:Printer", "480.00",
         "The old one had begun to swallow cotton paper. For tax, all of it counts in\n"
         "the year it was bought.",
         (("election", "expense"),)),
    Bill("2025-11-20", "The insurer", "Cover for a year", "Expenses:Office:Insurance",
         "174.00", meta=(("document", "receipts/2025-11-20-insurance.txt"),)),
    Bill("2026-02-09", "The tool dealer", "Blades, mats", "Expenses:Equipment:Cutter",
         "41.20"),
)
# fmt: on
