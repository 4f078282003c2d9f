"""A shop with a bank: what the tests of its statements share."""

from __future__ import annotations

from pathlib import Path

from tests.importers.shop import Shop, new_shop

STATEMENT = "Booked,Counterparty,Purpose,Amount,Currency,Entry"
LAYOUT = """\
[layouts.statement]
kind = "bank"
source = "checking"
currency = ["USD", "EUR"]
[layouts.statement.columns]
date = "Booked"
payee = "Counterparty"
text = "Purpose"
gross = "Amount"
currency = "Currency"
id = "Entry"
"""
BANK, PAYOUTS, CARD, SUSPENSE = (
    "Assets:Bank:Checking",
    "Assets:Clearing:Payouts",
    "Assets:Clearing:Card",
    "Equity:Suspense",
)
MET_ACCOUNTS = (BANK, PAYOUTS, CARD, SUSPENSE)
HERON = (
    'option "operating_currency" "USD"\n2025-01-01 commodity HERON\n  stock: "product"\n'
)


def bank_shop(folder: Path, rules: str = "", ledger: str = HERON) -> Shop:
    """Make a shop whose bank's statements have no balance.

    Args:
      folder: Where to make it.
      rules: What else its settings say.
      ledger: The text of its main file.
    """
    return new_shop(folder, ledger, rules + LAYOUT)


def statement(shop: Shop, *rows: str, name: str = "bank.csv") -> Path:
    """Write a statement of rows such as "2025-03-04,Paper Mill,Invoice,-84.20,USD,B1"."""
    return shop.file(name, STATEMENT, *rows)


def payout(day: str, amount: str, number: str, currency: str = "USD") -> str:
    """Return the row of a payout in a file of card payments."""
    return f"{day},Payout,,Payout,-{amount},0.00,-{amount},{currency},{number}".replace(
        "--", ""
    )
