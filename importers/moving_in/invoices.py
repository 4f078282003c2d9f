"""Read the sheet of invoices that are not paid, and book what buyers owe.

An invoice is linked as the import of its channel links orders, so that a payment which
names it settles it, and a file that lists it later is known to have it.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.layout import Layout
from offcut.importers.ledger_text import posting_text, transaction_text
from offcut.importers.moving_in.balances import currency_of, money_of
from offcut.importers.moving_in.sheets import INVOICE_COLUMNS
from offcut.importers.opening_balances import OPENING
from offcut.importers.postings import Booking
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.records import order_key
from offcut.importers.sheet import read_cell, read_sheet
from offcut.importers.values import date_reader, one_line
from offcut.plugins.catalogue import nearest

SOURCE = "open-invoices"
USUAL_CHANNEL = "Wholesale"


class Invoice(NamedTuple):
    """A row of the sheet: what a buyer still owes.

    Attributes:
      row: Its number in the sheet.
      number: The invoice's number.
      order: The key that its link has.
      lines_id: The id that an import of its channel's files would give it.
      day: Its day.
      buyer: Who owes it.
      channel: Where it was sold.
      account: The account of what buyers owe.
      amount: What is owed.
      currency: The amount's currency.
    """

    row: int
    number: str
    order: str
    lines_id: str
    day: datetime.date
    buyer: str
    channel: str
    account: str
    amount: Decimal
    currency: str

    @property
    def source_id(self) -> str:
        """What tells that the ledger has the row already."""
        return f"{SOURCE}/{self.order}"

    def booking(self) -> Booking:
        """Return the transaction of the row."""
        meta = (
            ("channel", self.channel),
            ("source-id", self.source_id),
            ("lines-id", self.lines_id),
        )
        # What it was for is not in the books, only what it comes to: a later file with its
        # lines is held against that, and changes nothing.
        rest = (("line-text", f"Invoice {self.number}"),)
        text = transaction_text(
            self.day.isoformat(),
            f"Invoice {self.number}, not paid when the books began",
            f"order-{self.order}",
            meta,
            posting_text(self.account, self.amount, self.currency)
            + posting_text(OPENING, -self.amount, self.currency, rest),
            payee=self.buyer,
        )
        return Booking(self.day.isoformat(), SOURCE, text)


def channels_of(own: Iterable[Layout], shipped: Iterable[Layout]) -> dict[str, Layout]:
    """Return the layout of the orders of each channel, the user's own before the shipped.

    Args:
      own: The user's layouts.
      shipped: Those of offcut.
    """
    layouts: dict[str, Layout] = {}
    for layout in (*own, *shipped):
        if layout.kind == "order-lines":
            layouts.setdefault(layout.channel, layout)
    return layouts


def read_invoices(
    name: str,
    contents: bytes,
    layouts: Mapping[str, Layout],
    currency: str,
) -> list[Invoice]:
    """Return the rows of a sheet of open invoices.

    Args:
      name: The file's name, for problems.
      contents: Its bytes.
      layouts: The layout of the orders of each channel.
      currency: The currency of a row that names none.

    Raises:
      ImportRefused: With a problem for each cell that cannot be read.
    """
    problems: list[Problem] = []
    found: dict[str, Invoice] = {}
    read_day = date_reader(["%Y-%m-%d"])

    def layout_of(cell: str) -> Layout:
        if cell not in layouts:
            raise ValueError(
                f"expected {' or '.join(layouts)}, found {quoted(cell)}"
                f"{nearest(cell, layouts)}"
            )
        return layouts[cell]

    for row, cells in read_sheet(name, contents, INVOICE_COLUMNS):
        number = read_cell(problems, (name, row, "Invoice"), one_line(cells[0]), _number_of)
        day = read_cell(problems, (name, row, "Date"), cells[1], read_day)
        buyer = read_cell(problems, (name, row, "Buyer"), one_line(cells[2]), _buyer_of)
        layout = read_cell(
            problems, (name, row, "Channel"), cells[3] or USUAL_CHANNEL, layout_of
        )
        money = read_cell(
            problems, (name, row, "Currency"), cells[5] or currency, currency_of
        )
        if money is None:
            continue
        amount = read_cell(problems, (name, row, "Amount"), cells[4], money_of(money))
        if None in (number, day, buyer, layout, amount):
            continue
        assert number and day and buyer and layout and amount
        order, account = order_key(number, layout.prefix), layout.accounts.receivable
        if order in found:
            message = f"{number} is in row {found[order].row} too; take one of the rows out"
            problems.append(Problem(name, row, "Invoice", message))
        else:
            found[order] = Invoice(
                *(row, number, order, f"{layout.source}/{order}", day, buyer),
                *(layout.channel, account, amount, money),
            )
    if problems:
        raise ImportRefused(problems)
    return list(found.values())


def _number_of(cell: str) -> str:
    if not re.search("[A-Za-z0-9]", cell):
        raise ValueError(f"expected the invoice's number, found {quoted(cell)}")
    return cell


def _buyer_of(cell: str) -> str:
    if not cell:
        raise ValueError("expected who owes it, found nothing")
    return cell
