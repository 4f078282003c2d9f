"""Read the sheet of opening balances, and book them against the owner's equity."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Collection, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.known import Limits
from offcut.importers.ledger_text import posting_text, transaction_text
from offcut.importers.moving_in.sheets import BALANCE_COLUMNS, INVOICES, STOCK
from offcut.importers.opening_balances import OPENING
from offcut.importers.postings import Booking
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.sheet import read_cell, read_sheet
from offcut.importers.values import ZERO, date_reader, minor_unit, number_reader
from offcut.plugins.catalogue import nearest

SOURCE = "opening-balances"
# Where shelves are, unless their items say otherwise.
SHELVES = ("Stock", "Materials", "Stamps", "Consigned")


class Balance(NamedTuple):
    """A row of the sheet: what an account had at the close of a day.

    Attributes:
      row: Its number in the sheet.
      account: The account.
      amount: What it had; negative where it is owed.
      currency: The amount's currency.
      day: The day.
    """

    row: int
    account: str
    amount: Decimal
    currency: str
    day: datetime.date

    @property
    def source_id(self) -> str:
        """What tells that the ledger has the row already."""
        return f"{SOURCE}/{self.account}/{self.day}-{self.currency}"

    def booking(self) -> Booking:
        """Return the transaction of the row."""
        text = transaction_text(
            self.day.isoformat(),
            "Opening balance",
            "",
            (("source-id", self.source_id),),
            posting_text(self.account, self.amount, self.currency)
            + posting_text(OPENING, -self.amount, self.currency),
        )
        return Booking(self.day.isoformat(), SOURCE, text)


class Accounts(NamedTuple):
    """The accounts that opening balances may be of.

    Attributes:
      limits: When each account of the ledger takes postings, and of what.
      roots: The first words of accounts of what is owned, and of what is owed.
      receivable: The account above all that hold what buyers owe.
      currency: The currency of a row that names none.
    """

    limits: Mapping[str, Limits]
    roots: tuple[str, str]
    receivable: str
    currency: str


def read_balances(name: str, contents: bytes, accounts: Accounts) -> list[Balance]:
    """Return the rows of a sheet of opening balances.

    Args:
      name: The file's name, for problems.
      contents: Its bytes.
      accounts: The accounts that they may be of.

    Raises:
      ImportRefused: With a problem for each cell that cannot be read.
    """
    problems: list[Problem] = []
    found: dict[tuple[str, str], Balance] = {}
    read_day = date_reader(["%Y-%m-%d"])
    for number, cells in read_sheet(name, contents, BALANCE_COLUMNS):

        def at(column: str, row: int = number) -> tuple[str, int, str]:
            return name, row, column

        account = read_cell(
            problems, at("Account"), cells[0], lambda cell: _account_of(cell, accounts)
        )
        currency = read_cell(
            problems, at("Currency"), cells[3] or accounts.currency, currency_of
        )
        day = read_cell(problems, at("Date"), cells[4], read_day)
        if account is None or currency is None or day is None:
            continue
        amount = _amount_of(problems, at, cells[1], cells[2], currency)
        if amount is None:
            continue
        if (account, currency) in found:
            first = found[account, currency].row
            message = f"{account} in {currency} is in row {first} too; take one row out"
            problems.append(Problem(name, number, "Account", message))
        else:
            found[account, currency] = Balance(number, account, amount, currency, day)
    if problems:
        raise ImportRefused(problems)
    return list(found.values())


def currency_of(cell: str) -> str:
    """Return the currency that a cell names.

    Raises:
      ValueError: It names none.
    """
    if not re.fullmatch("[A-Z]{3}", cell.upper()):
        raise ValueError(f"expected a currency such as USD, found {quoted(cell)}")
    return cell.upper()


def money_of(currency: str) -> Callable[[str], Decimal]:
    """Return what reads an amount of money above zero, in whole minor units.

    Args:
      currency: The currency.
    """
    read_number, unit = number_reader("en_US"), minor_unit(currency)

    def read(cell: str) -> Decimal:
        amount = read_number(cell)
        if amount <= 0 or amount % unit:
            raise ValueError(
                f"expected an amount above zero in whole {unit} {currency}, found "
                f"{quoted(cell)}"
            )
        return amount.quantize(unit)

    return read


def _account_of(cell: str, accounts: Accounts) -> str:
    """Return an account that may have an opening balance.

    Raises:
      ValueError: It may not, or the ledger does not open it.
    """
    owned = accounts.roots[0]
    if _is_in(cell, accounts.receivable):
        raise ValueError(f"what buyers owe goes into {INVOICES}, an invoice a row")
    if any(_is_in(cell, f"{owned}:{shelf}") for shelf in SHELVES):
        raise ValueError(f"what is on a shelf goes into {STOCK}, an item a row")
    if cell.partition(":")[0] not in accounts.roots:
        raise ValueError(
            f"expected an account of {owned}, which you own, or {accounts.roots[1]}, which "
            f"you owe, found {quoted(cell)}"
        )
    if cell not in accounts.limits:
        raise ValueError(
            f"the ledger has no account {cell}{nearest(cell, _known(accounts))}; open it "
            f"there, on the day or before: open {cell}"
        )
    return cell


def _known(accounts: Accounts) -> Collection[str]:
    return [name for name in accounts.limits if name.partition(":")[0] in accounts.roots]


def _is_in(account: str, above: str) -> bool:
    return account == above or account.startswith(f"{above}:")


def _amount_of(
    problems: list[Problem],
    at: Callable[[str], tuple[str, int, str]],
    owned: str,
    owed: str,
    currency: str,
) -> Decimal | None:
    """Return what an account has; None where that cannot be told, or is nothing."""
    if bool(owned) == bool(owed):
        message = "expected an amount under Owned or under Owed, and not under both"
        problems.append(Problem(*at("Owned"), f"{message}; correct the row"))
        return None
    column, cell = ("Owned", owned) if owned else ("Owed", owed)
    if _is_zero(cell):
        return None  # nothing is nothing to book
    amount = read_cell(problems, at(column), cell, money_of(currency))
    return None if amount is None else amount if owned else ZERO - amount


def _is_zero(cell: str) -> bool:
    return bool(re.fullmatch(r"0+(\.0*)?", cell))
