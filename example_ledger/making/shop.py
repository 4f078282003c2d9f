"""Tables of the invented shop: what it sells, what that is made of, how busy it is.

Moth & Lantern Prints, its customers, prices and figures are all made up.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal as D
from typing import NamedTuple

OPENING = datetime.date(2024, 11, 1)
FIRST_ORDER = datetime.date(2024, 11, 9)
LAST_DAY = datetime.date(2026, 10, 31)


class Form(NamedTuple):
    """A printed format.

    Attributes:
      text: What listings call it.
      web_price: The list price in the own shop, at fairs and (at half) to shops.
      market_price: The price on the market, which takes a larger fee.
      batch: Pieces that a bill of materials makes at once.
      bill: What goes into a batch.
      cover_days: For how many days of sales it is printed ahead.
      normal_spoilage: Spoiled pieces to be expected for each good one.
      minutes: Minutes of work a batch.
    """

    text: str
    web_price: D
    market_price: D
    batch: int
    bill: tuple[tuple[str, str], ...]
    cover_days: int
    normal_spoilage: str
    minutes: D


# fmt: off
FORMS = {
    "sticker-3in": Form(
        "vinyl sticker, 3 in", D("4.00"), D("4.50"), 6,
        (("VINYL", "1"), ("FILM", "1"), ("INK-ML", "5.4")), 75, "0.05", D("4"),
    ),
    "sticker-sheet": Form(
        "sticker sheet", D("9.00"), D("9.50"), 2,
        (("VINYL", "1"), ("FILM", "1"), ("INK-ML", "6.2")), 75, "0.05", D("5"),
    ),
    "print-letter": Form(
        "art print, letter size", D("18.00"), D("19.50"), 1,
        (("COTTON", "1"), ("INK-ML", "7.2")), 75, "0.10", D("3"),
    ),
    "print-leaf": Form(
        "art print with copper leaf", D("12.00"), D("13.00"), 1,
        (("COTTON", "1"), ("INK-ML", "9.5"), ("LEAF", "5")), 90, "0.10", D("8"),
    ),
    "postcard": Form(
        "postcard", D("3.00"), D("3.50"), 4,
        (("CARD", "1"), ("INK-ML", "4.8")), 100, "0.05", D("2"),
    ),
    # Made by a manufacturer: nothing is printed at home, so there is no bill.
    "sticker-holographic": Form(
        "holographic sticker, 3 in", D("5.00"), D("5.50"), 1, (), 0, "0", D("0"),
    ),
}
# fmt: on


class Product(NamedTuple):
    """Something that is sold: one design in one format.

    Attributes:
      code: Its commodity.
      design: The design.
      form: A key of FORMS.
      launch: The first day that it is sold.
      web: How often it is chosen in the own shop, against the others.
      market: The same on the market, where only what fits into a letter is listed.
    """

    code: str
    design: str
    form: str
    launch: datetime.date
    web: int
    market: int


def _product(
    code: str, design: str, form: str, launch: str, web: int, market: int
) -> Product:
    return Product(code, design, form, datetime.date.fromisoformat(launch), web, market)


# fmt: off
PRODUCTS = (
    _product("HERON-STK",    "Heron at Dusk",  "sticker-3in",         "2024-11-09", 16, 14),
    _product("HERON-PRT",    "Heron at Dusk",  "print-letter",        "2024-11-09",  9,  0),
    _product("MOTH-STK",     "Moth Study",     "sticker-3in",         "2024-11-09", 14, 15),
    _product("MOTH-PRT",     "Moth Study",     "print-letter",        "2024-11-09",  6,  0),
    _product("FERRY-STK",    "Night Ferry",    "sticker-3in",         "2024-11-09",  8,  8),
    _product("FERRY-PRT",    "Night Ferry",    "print-letter",        "2024-11-09",  7,  0),
    _product("TIDE-PRT",     "Tide Table",     "print-letter",        "2024-11-09",  5,  0),
    _product("TIDE-CRD",     "Tide Table",     "postcard",            "2024-11-09",  5,  3),
    _product("CAT-STK",      "Harbour Cat",    "sticker-3in",         "2024-11-09", 18, 22),
    _product("CAT-SHT",      "Harbour Cat",    "sticker-sheet",       "2024-11-09",  8, 12),
    _product("FERN-PRT",     "Fern Alphabet",  "print-letter",        "2024-11-09",  6,  0),
    _product("FERN-SHT",     "Fern Alphabet",  "sticker-sheet",       "2024-11-09",  7,  9),
    _product("LANTERN-STK",  "Lantern Row",    "sticker-3in",         "2024-11-09",  6,  7),
    _product("MOORING-PRT",  "Winter Mooring", "print-letter",        "2024-11-09",  4,  0),
    _product("MOORING-CRD",  "Winter Mooring", "postcard",            "2024-11-09",  6,  4),
    _product("KITES-CRD",    "Paper Kites",    "postcard",            "2024-11-09",  2,  2),
    _product("FOXGLOVE-STK", "Foxglove Lane",  "sticker-3in",         "2024-11-09",  5,  6),
    _product("FOG-HOL",      "Fog Signal",     "sticker-holographic", "2025-02-22",  6,  8),
    _product("PIER-PRT",     "Quiet Pier",     "print-leaf",          "2025-03-15",  1,  0),
    _product("KELP-STK",     "Kelp Garden",    "sticker-3in",         "2025-04-05",  6,  7),
    _product("KELP-SHT",     "Kelp Garden",    "sticker-sheet",       "2025-05-03",  4,  5),
    _product("MOON-PRT",     "Herring Moon",   "print-letter",        "2025-08-16",  6,  0),
)
# fmt: on
BY_CODE = {product.code: product for product in PRODUCTS}


class Supply(NamedTuple):
    """What is bought to make and to post things.

    Attributes:
      code: Its commodity.
      name: Its name in the catalogue.
      kind: The catalogue's word for it: a material or a stamp.
      supplier: Who sells it.
      pack: Units in a pack.
      prices: The price of a pack, by the first day of each price.
    """

    code: str
    name: str
    kind: str
    supplier: str
    pack: int
    prices: Mapping[str, str]

    def price(self, date: datetime.date) -> D:
        """Return what a pack costs on a day."""
        return [
            D(price) for since, price in self.prices.items() if since <= date.isoformat()
        ][-1]


SHEETS, PAPER = "The sheet supplier", "The paper merchant"
INKS, WRAPS = "The ink supplier", "The packaging supplier"
POST_OFFICE = "The post office"
# fmt: off
SUPPLIES = (
    Supply("VINYL", "White vinyl sheet, letter size", "material", SHEETS, 50,
           {"2024-11-01": "22.50", "2025-10-01": "23.75"}),
    Supply("FILM", "Clear laminating film, letter size", "material", SHEETS, 50,
           {"2024-11-01": "15.00", "2025-10-01": "15.50"}),
    Supply("COTTON", "Cotton rag paper, letter size", "material", PAPER, 25,
           {"2024-11-01": "27.50", "2026-02-01": "29.25"}),
    Supply("CARD", "Card stock, letter size", "material", PAPER, 50,
           {"2024-11-01": "14.00"}),
    Supply("LEAF", "Copper leaf", "material", PAPER, 25,
           {"2024-11-01": "23.75"}),
    Supply("INK-ML", "Pigment ink, by the millilitre", "material", INKS, 420,
           {"2024-11-01": "25.20", "2025-06-01": "26.04", "2026-03-01": "27.30"}),
    Supply("MAILER", "Stiff mailer, letter size", "material", WRAPS, 50,
           {"2024-11-01": "31.00", "2025-11-01": "32.50"}),
    Supply("ENVELOPE", "Envelope with a card back", "material", WRAPS, 100,
           {"2024-11-01": "21.00"}),
    Supply("SLEEVE", "Clear sleeve", "material", WRAPS, 200,
           {"2024-11-01": "14.00", "2025-11-01": "14.60"}),
    Supply("STAMP-LETTER", "Letter stamp", "stamp", POST_OFFICE, 100,
           {"2024-11-01": "78.00", "2025-07-14": "82.00"}),
    Supply("STAMP-FLAT", "Large letter stamp", "stamp", POST_OFFICE, 20,
           {"2024-11-01": "32.60", "2025-07-14": "34.20"}),
)
# fmt: on
STAMP_RISE = datetime.date(2025, 7, 14)

# What one order uses up, and how the orders of a channel are packed.
PACKING_LISTS = {
    "letter": ("ENVELOPE", "SLEEVE", "STAMP-LETTER"),
    "flat": ("MAILER", "SLEEVE", "STAMP-FLAT"),
}
PACKED_AS = {"Web": "flat", "Market": "letter"}

# Orders of the own shop and of the market, by month.
MONTHS = {
    "2024-11": (34, 30),
    "2024-12": (58, 49),
    "2025-01": (33, 30),
    "2025-02": (34, 32),
    "2025-03": (37, 30),
    "2025-04": (36, 33),
    "2025-05": (41, 34),
    "2025-06": (38, 31),
    "2025-07": (36, 30),
    "2025-08": (37, 33),
    "2025-09": (40, 35),
    "2025-10": (46, 38),
    "2025-11": (54, 44),
    "2025-12": (61, 49),
    "2026-01": (37, 33),
    "2026-02": (38, 34),
    "2026-03": (41, 33),
    "2026-04": (40, 34),
    "2026-05": (44, 36),
    "2026-06": (41, 33),
    "2026-07": (39, 31),
    "2026-08": (42, 35),
    "2026-09": (45, 37),
    "2026-10": (51, 40),
}
LAST_MONTH = list(MONTHS)[-1]

SALES_TAX = D("0.0625")
HOME_ORDERS = 0.22  # of the own shop's orders: those that go to the home state
SHIPPING = {"Web": D("2.95"), "Market": D("0.95")}
FREE_SHIPPING_FROM = D("40.00")  # in the own shop
TRACKED_FROM = D("45.00")  # orders of this much and more are sent with tracking
TRACKING = D("2.95")
CARD_FEE, CARD_FEE_EACH = D("0.029"), D("0.30")
MARKET_FEE, MARKET_FEE_EACH = D("0.09"), D("0.20")
MARKET_LISTINGS = D("2.40")
MARKET_ADVERTISING = {
    "2024-12": D("15.00"),
    "2025-04": D("12.00"),
    "2025-11": D("20.00"),
    "2025-12": D("25.00"),
    "2026-04": D("12.00"),
    "2026-05": D("12.00"),
    "2026-10": D("18.00"),
}
DISPUTE_FEE = D("15.00")

GIFT_WRAP = "Gift wrap"
GIFT_WRAP_PRICE = D("3.00")
# Listed in the last week of the last month, before any rule for it was written.
UNKNOWN_TEXT = "Surprise pack — five vinyl stickers"
UNKNOWN_PRICE = D("15.00")
UNKNOWN_SINCE = datetime.date(2026, 10, 24)


def listing(product: Product, channel: str) -> str:
    """Return how a product is called in a channel's files."""
    text = FORMS[product.form].text
    if channel == "Market":
        return f"{product.design} {text.replace(', 3 in', '')} | Moth & Lantern"
    return f"{product.design} — {text}"


def rule_pattern(product: Product) -> str:
    """Return the pattern that knows a product's listings on all channels."""
    return f"{product.design}*{FORMS[product.form].text.partition(',')[0]}*"


def price(product: Product, channel: str) -> D:
    """Return a product's price in a channel."""
    form = FORMS[product.form]
    return form.market_price if channel == "Market" else form.web_price
