"""Write the catalogue: what there is, what it is made of, how it is packed."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal as D

from making import shop
from making.ledger_text import Entry, Meta, Money, directive, file_text

# Commodities that are costed by moving average; the others first in, first out.
AVERAGED = {
    "INK-ML": "Bottles bought at different prices are poured into the same tanks, so ink\n"
    'is costed by moving average. Accounts without "AVERAGE" go first in, first out.',
    "CAT-SHT": "Printed often and kept in one box, where nobody can tell the runs apart.",
}
READY_BEFORE_LAUNCH = datetime.timedelta(days=21)

HEAD = """\
Catalogue: what the shop sells, what that is made of, how orders are packed.

`stock` says what a commodity is for: a product is sold, a material is used up in
printing and packing, a stamp in posting. A product belongs to a design, for which
profit is reported, and may have a rate of spoilage that is normal for it.
"""


def catalogue_text() -> str:
    """Return catalogue.beancount."""
    return file_text(HEAD, [*_supplies(), *_packing_lists(), *_products()])


def stock_account(code: str) -> str:
    """Return the account that a commodity is kept in."""
    if code in shop.BY_CODE:
        return f"Assets:Stock:{code}"
    kind = next(supply.kind for supply in shop.SUPPLIES if supply.code == code)
    return f"Assets:{kind.capitalize()}s:{code}"


def _supplies() -> Iterator[Entry]:
    """Yield materials and stamps, and the accounts that they are bought into."""
    for supply in shop.SUPPLIES:
        meta: Meta = (("name", supply.name), ("stock", supply.kind))
        yield directive(shop.OPENING, f"commodity {supply.code}", meta=meta)
        yield _open(shop.OPENING, supply.code)


def _open(date: datetime.date, code: str) -> Entry:
    """Return the open directive of the account that a commodity is kept in."""
    method = ' "AVERAGE"' if code in AVERAGED else ""
    text = f"open {stock_account(code)} {code}{method}"
    return directive(date, text, comment=AVERAGED.get(code, ""))


def _packing_lists() -> Iterator[Entry]:
    """Yield what an order uses up when it is packed."""
    comments = {
        "letter": "Stickers, sheets and cards of the market go as a letter.",
        "flat": "Orders of my own shop may hold a print, and all go in a stiff mailer.",
    }
    for name, codes in shop.PACKING_LISTS.items():
        parts = " ".join(f"1 {code}" for code in codes)
        text = f'custom "packing" "{name}" {parts}'
        yield directive(shop.OPENING, text, comment=comments[name])


def _products() -> Iterator[Entry]:
    """Yield products with their bills of materials, a design after the other."""
    for product in shop.PRODUCTS:
        form = shop.FORMS[product.form]
        early = product.launch == shop.FIRST_ORDER
        date = shop.OPENING if early else product.launch - READY_BEFORE_LAUNCH
        meta: Meta = (
            ("name", f"{product.design}, {form.text}"),
            ("stock", "product"),
            ("design", product.design),
            ("format", product.form),
            ("list-price", Money(form.web_price)),
        )
        if form.bill:
            meta = (*meta, ("normal-spoilage", D(form.normal_spoilage)))
        yield directive(date, f"commodity {product.code}", meta=meta)
        if product.code in AVERAGED or not form.bill:
            yield _open(date, product.code)
        if form.bill:
            parts = " ".join(f"{units} {code}" for code, units in form.bill)
            bill = f'custom "bill-of-materials" {form.batch} {product.code} {parts}'
            yield directive(date, bill)
