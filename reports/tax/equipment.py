"""List equipment, and deduct what the maker's election says.

    2025-03-04 * "The tool dealer" "Large-format printer"
      Assets:Equipment:Printer   1,840.00 USD
        election: "expense"
      Assets:Bank:Checking

`expense` deducts all of it in the year of purchase; `spread`, with `years: 5`, an equal
part of it each year and half a part in the first and the last, which is an estimate: the
official tables differ. Without an election nothing is deducted, and it is asked for.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import ZERO
from offcut.reports.figures import rounded
from offcut.reports.flows import money_transactions, weight
from offcut.reports.period import Period
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.toml_checks import meant

ELECTIONS = ("expense", "spread")
HALF = Decimal("0.5")


class EquipmentError(NamedTuple):
    """An election that is none."""

    source: data.Meta
    message: str
    entry: data.Directive | None


class Equipment(NamedTuple):
    """A purchase of equipment; below zero for what was sold or given back.

    Attributes:
      date: The day.
      account: Its account.
      text: What the transaction says.
      cost: What it cost.
      election: `expense` or `spread`; empty where nothing is said.
      years: Over how many years it is spread.
      entry: The transaction.
    """

    date: datetime.date
    account: str
    text: str
    cost: Decimal
    election: str
    years: int
    entry: data.Transaction


def equipment_bought(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any], currency: str
) -> list[Equipment]:
    """Return all equipment of a ledger in a currency, in the order of days.

    Args:
      entries: The ledger's directives.
      options_map: The ledger's options.
      currency: The currency.
    """
    account = f"{options_map['name_assets']}:Equipment"
    roots = tuple(
        each.account
        for each in entries
        if isinstance(each, data.Open) and (each.account + ":").startswith(account + ":")
    )
    if not roots:
        return []
    found = []
    for entry in money_transactions(entries):
        for posting in entry.postings:
            if posting.account not in roots:
                continue
            number, posted = weight(posting) or (ZERO, "")
            if posted != currency or not number:
                continue
            election, years = _elected(entry, posting)
            text = " · ".join(filter(None, (entry.payee, entry.narration)))
            found.append(
                Equipment(entry.date, posting.account, text, number, election, years, entry)
            )
    return found


def check_equipment(bought: Iterable[Equipment]) -> Iterator[EquipmentError]:
    """Yield an error for each election that cannot be followed.

    Args:
      bought: The equipment.
    """
    for each in bought:
        if each.election and each.election not in ELECTIONS:
            message = (
                f'election is "{each.election}"{meant(each.election, ELECTIONS)}; write '
                "expense, or spread with years: 5"
            )
        elif each.election == "spread" and each.years < 1:
            message = "election spread: say over how many years: years: 5"
        else:
            continue
        yield EquipmentError(each.entry.meta, f"{each.account}: {message}", each.entry)


def deducted(one: Equipment, rules: Rules, period: Period, part: Decimal) -> Decimal:
    """Return what is deducted of equipment.

    Args:
      one: The equipment.
      rules: The rules of the year.
      period: The days to take, of the year.
      part: The part of the year that they are; 1 for all of it.
    """
    if one.cost <= ZERO or (period.last is not None and one.date > period.last):
        return ZERO
    if one.election == "expense":
        return one.cost if one.date in period else ZERO
    if one.election != "spread" or one.years < 1:
        return ZERO
    age = _tax_year(rules.first, rules) - _tax_year(one.date, rules)
    # From what is deducted by the end of each year, so that all of it is in the end.
    portion = _by_end_of(age, one, rules) - _by_end_of(age - 1, one, rules)
    return rounded(portion * part, rules.currency)


def _by_end_of(age: int, one: Equipment, rules: Rules) -> Decimal:
    """Return what of spread equipment is deducted by the end of a year, 0 the first."""
    if age < 0:
        return ZERO
    years = Decimal(one.years)
    return rounded(one.cost * min(age + HALF, years) / years, rules.currency)


def _tax_year(date: datetime.date, rules: Rules) -> int:
    """Return the year in which the tax year of a day begins."""
    first = (rules.first.month, rules.first.day)
    return date.year if (date.month, date.day) >= first else date.year - 1


def _elected(entry: data.Transaction, posting: data.Posting) -> tuple[str, int]:
    """Return the election for a purchase, and its years; of the posting first."""
    meta = {**entry.meta, **(posting.meta or {})}
    years = meta.get("years", 0)
    whole = isinstance(years, Decimal) and years.is_finite() and years == int(years)
    return str(meta.get("election", "")), int(years) if whole else 0
