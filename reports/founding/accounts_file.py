"""Write a new ledger's accounts, each with its line of the tax form."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import NamedTuple

from offcut.reports.founding.shop import Shop
from offcut.reports.tax.tax_lines import TaxLines

# Invoices from before the first day are still open on it.
LONG_AGO = datetime.date(1970, 1, 1)
ROOTS = {"name_income": "Income", "name_expenses": "Expenses"}


class Group(NamedTuple):
    """Accounts under a remark.

    Attributes:
      remark: What they are for.
      accounts: Their names.
    """

    remark: str
    accounts: tuple[str, ...]


def accounts_file(shop: Shop) -> str:
    """Return the accounts of a shop, as ledger text.

    Args:
      shop: The shop.
    """
    text = """\
;; The accounts. Money always goes out of one account and into another. The first word
;; says what an account is: Assets are what the shop has, Liabilities what it owes,
;; Equity what is the owner's, Income and Expenses what it earned and spent. Open an
;; account of your own by a line like these.
;;
;; They open on the day before the first one, on which opening balances stand.
"""
    if shop.rules:
        text += f"""\
;;
;; `tax-line` says on which line of the tax form an account belongs, with those below it:
;; {shop.rules.form_title or shop.rules.title}. An estimate, not advice: rules differ by
;; place; ask a licensed accountant.
"""
    else:
        text += """\
;;
;; No tax rules were chosen; offcut.toml says how to add them.
"""
    text += """\
;;
;; Shelves of products and materials, and what was sold, spoiled or lost of them,
;; have accounts too; offcut opens these as they are used.
"""
    lines = TaxLines((), ROOTS, shop.rules) if shop.rules else None
    for group in _groups(shop):
        text += f"\n;; {group.remark}\n"
        for account in group.accounts:
            day = LONG_AGO if account in _long_open(shop) else shop.eve
            limit = f" {shop.currency}" if account in _of_one_currency() else ""
            text += f"{day} open {account}{limit}\n"
            line = lines[account] if lines is not None else None
            if line is not None and line.key:
                text += f'  tax-line: "{line.key}"\n'
    return text


def _long_open(shop: Shop) -> frozenset[str]:
    """Return the accounts that what is older than the books is posted to."""
    owed = (f"Assets:Receivable:{channel}" for channel in shop.channels)
    return frozenset(("Equity:Opening-Balances", *owed))


def _of_one_currency() -> frozenset[str]:
    return frozenset(("Assets:Bank:Checking", "Assets:Bank:TaxReserve", "Assets:Cash"))


def _groups(shop: Shop) -> Iterator[Group]:
    """Yield the accounts that a shop needs, by what they are for."""
    sells = shop.channels
    ordered = [each for each in ("Web", "Market", "Wholesale") if each in sells]
    online = [each for each in ("Web", "Market") if each in sells]
    reserve = ("Assets:Bank:TaxReserve",) if shop.rules else ()
    yield Group(
        "What the shop has: its bank, and its cash box",
        ("Assets:Bank:Checking", *reserve, "Assets:Cash"),
    )
    clearing = [{"Web": "Card", "Market": "Market"}[each] for each in online]
    clearing += ["Reader"] if "Fair" in sells else []
    if clearing:
        yield Group(
            "Money that others hold until they pay it out",
            tuple(f"Assets:Clearing:{each}" for each in (*clearing, "Payouts")),
        )
    if ordered:
        yield Group(
            "What buyers owe; opened long ago, as an invoice may be older than the books",
            tuple(f"Assets:Receivable:{each}" for each in ordered),
        )
    deposits = ("Liabilities:Deposits",) if "Commission" in sells else ()
    yield Group(
        "What the shop owes: bills until they are paid, sales tax that buyers paid",
        (
            *("Liabilities:Suppliers", "Liabilities:CreditCard", "Liabilities:SalesTax"),
            *deposits,
        ),
    )
    yield Group(
        "What is the owner's: what was there at first, paid in, taken out",
        (
            *("Equity:Opening-Balances", "Equity:Opening-Stock", "Equity:Capital"),
            *("Equity:Drawings", "Equity:Drawings:Tax"),
        ),
    )
    yield Group(
        "Rows of the bank that wait until it is known what they are",
        ("Equity:Suspense",),
    )
    yield Group(
        "What the shop earns; the third part of the name is the channel",
        tuple(f"Income:Sales:{each}" for each in sells),
    )
    if ordered:
        yield Group(
            "Postage charged to buyers", tuple(f"Income:Shipping:{e}" for e in ordered)
        )
        yield Group(
            "Taken off again: discounts, and money given back",
            tuple(
                f"Income:{what}:{each}"
                for what in ("Discounts", "Refunds")
                for each in ordered
            ),
        )
        yield Group(
            "Sold, but it is not known yet what; `offcut items` asks",
            tuple(f"Income:Suspense:{each}" for each in ordered),
        )
    yield Group("What the things that were sold had cost", ("Expenses:COGS",))
    fees = [f"Expenses:Fees:{each}" for each in clearing]
    yield Group("Fees of those who take payments", (*fees, "Expenses:Fees:Bank"))
    yield Group(
        "Sending: labels and stamps, envelopes and sleeves",
        ("Expenses:Postage", "Expenses:Packaging"),
    )
    if "Fair" in sells:
        yield Group(
            "Fairs: the table, the way there, and what the cash box is short of",
            tuple(
                f"Expenses:Events:{each}"
                for each in ("TableFees", "Travel", "CashOverShort")
            ),
        )
    yield Group(
        "Freight and duty on what was bought; spread over it by `spread`",
        ("Expenses:Inbound:Freight",),
    )
    yield Group(
        "Being known: advertising, and pieces given away",
        ("Expenses:Marketing:Advertising", "Expenses:Marketing:Giveaways"),
    )
    yield Group(
        "Running the shop",
        tuple(
            f"Expenses:{each}"
            for each in (
                *("Office:Supplies", "Office:Hosting", "Software", "Insurance"),
                *("Equipment", "Professional", "Travel"),
            )
        ),
    )
