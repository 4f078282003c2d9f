"""Tell what some accounts come to on a day, from a ledger's text, without loading it."""

from __future__ import annotations

import calendar
import datetime
import re
from collections import defaultdict
from collections.abc import Collection, Iterable
from decimal import Decimal

from offcut.importers.values import ZERO


class LedgerBalances:
    """What the transactions of a ledger's text move on some accounts, by day.

    From a posting without an amount on, or from a `pad`, a balance cannot be told.

    Args:
      contents: The bytes of its files.
      accounts: The accounts.
    """

    def __init__(self, contents: Iterable[bytes], accounts: Collection[str]) -> None:
        self._moved: dict[tuple[str, str], dict[datetime.date, Decimal]] = defaultdict(
            lambda: defaultdict(Decimal)
        )
        self._unclear: dict[str, datetime.date] = {}
        if accounts:
            self._read(contents, accounts)

    def _read(self, contents: Iterable[bytes], accounts: Collection[str]) -> None:
        names = b"|".join(re.escape(account.encode()) for account in accounts)
        pattern = re.compile(
            rb"\n(?:(\d{4})[-/](\d\d?)[-/](\d\d?)[ \t]+(?:pad[ \t]+(" + names + rb")\s)?|"
            rb"[ \t]+(?:[*!][ \t]+)?(" + names + rb")(?![^\s;])"
            rb"(?:[ \t]+([-+]?[\d,]*\.?\d+)[ \t]+([A-Z][\w'.-]*))?)"
        )
        for each in contents:
            day = datetime.date.min
            for match in pattern.finditer(b"\n" + each):
                year, month, of_month, padded, account, number, currency = match.groups()
                if year:
                    # The pattern of a date may have a day that no month has.
                    if 1 <= int(month) <= 12 and 1 <= int(of_month) <= 31:
                        last = calendar.monthrange(int(year), int(month))[1]
                        day = datetime.date(int(year), int(month), min(int(of_month), last))
                    if padded:
                        self._be_unclear(padded.decode(), day)
                elif number is None:
                    self._be_unclear(account.decode(), day)
                else:
                    key = account.decode(), currency.decode()
                    self._moved[key][day] += Decimal(number.replace(b",", b"").decode())

    def has_before(self, account: str, currency: str, day: datetime.date) -> bool:
        """Return whether anything is posted before a day."""
        if self._unclear.get(account, day) < day:
            return True
        return any(each < day for each in self._moved[account, currency])

    def before(self, account: str, currency: str, day: datetime.date) -> Decimal | None:
        """Return the balance at the beginning of a day; None where it is not clear."""
        if self._unclear.get(account, day) < day:
            return None
        days = self._moved[account, currency].items()
        return sum([moved for each, moved in days if each < day], ZERO)

    def add(self, account: str, currency: str, day: datetime.date, moved: Decimal) -> None:
        """Take in what is booked now."""
        self._moved[account, currency][day] += moved

    def _be_unclear(self, account: str, day: datetime.date) -> None:
        self._unclear[account] = min(day, self._unclear.get(account, day))
