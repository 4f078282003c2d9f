"""Stock that is not counted, and what went out before it was recorded."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.ledger_text import transaction_text
from offcut.importers.values import ZERO
from offcut.plugins.catalogue import Item, account_component
from offcut.plugins.shelf import HOME
from offcut.plugins.stock_events import Shortage
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.month import DAY, Month
from offcut.reports.close.points import (
    TO_DO,
    ClosePoint,
    Found,
    Looked,
    counted,
    named,
    place_of,
    several,
)

OPENING = "Equity:Opening-Balances"


def check_counts(found: LedgerPass, items: Iterable[str], months: int) -> Found:
    """Return the items that are to be counted.

    An item is, once its last count, or its first day on the shelf, is as many months
    back as the settings say. What the shelf has none of needs no count.

    Args:
      found: What the ledger has.
      items: The items of stock.
      months: How often each is to be counted.
    """
    month = found.month
    limit = _months_back(month, months)
    due: dict[datetime.date | None, list[str]] = defaultdict(list)
    in_time = []
    for item in sorted(items):
        shelf = found.shelves.get(item)
        if shelf is None or shelf.units <= ZERO:
            continue
        last = found.counts.get(item)
        if (last or shelf.since) <= limit:
            due[last].append(item)
        elif last:
            in_time.append((last, item))
    points = []
    for last, names in sorted(due.items(), key=lambda each: str(each[0] or "")):
        when = f"last counted on {last}" if last else "never counted"
        points.append(
            ClosePoint(
                TO_DO,
                f"{counted(len(names), 'item')} not counted",
                f"{several(names)}: {when}; the settings ask for a count every "
                f"{counted(months, 'month')}. Count what is on the shelf, and put your "
                "numbers in place of the books'.",
                date=last,
                settle="\n".join(
                    f'{month.last} custom "stock-count" {units:f} {name}'
                    for name in names
                    for units in (found.shelves[name].units,)
                ),
            )
        )
    in_order = []
    if in_time:
        oldest = min(in_time)[0]
        text = f"{counted(len(in_time), 'item')}, all on {oldest} or later."
        in_order.append(Looked("Stock is counted", text))
    elif not points:
        in_order.append(Looked("Stock is counted", "No item needs a count yet."))
    return Found(tuple(points), tuple(in_order))


def _months_back(month: Month, months: int) -> datetime.date:
    """Return the last day of the month that is some months before a month."""
    number = month.number - months + 1
    year, of_year = divmod(number, 12)
    if year < 1:
        return datetime.date.min
    return datetime.date(year, of_year + 1, 1) - DAY


def check_shortages(
    found: LedgerPass,
    errors: Iterable[object],
    entries: Iterable[data.Directive],
    catalogue: dict[str, Item],
    assets: str,
) -> Found:
    """Return what went out before it was made or bought.

    Args:
      found: What the ledger has.
      errors: The errors of loading the ledger.
      entries: Its directives, which are looked at only where something is short.
      catalogue: The items of stock.
      assets: The root account of assets.
    """
    short = [
        error
        for error in errors
        if isinstance(error, Shortage) and error.entry.date <= found.month.last
    ]
    if not short:
        text = "Nothing went out before it was made or bought."
        return Found((), (Looked("Nothing is oversold", text),))
    bought = _newest_lots(entries, {error.item for error in short})
    points = []
    for error in short:
        item, day = error.item, error.entry.date
        if item in found.bills and found.bills[item] <= day:
            settle = f'{day} custom "print-run" {error.short:f} {item}'
            how = "Record the print run that they came from"
        else:
            home = f"{assets}:{HOME[catalogue[item].kind]}:{account_component(item)}"
            account, cost, currency = bought.get(item, (home, ZERO, "USD"))
            settle = _receipt(day, error.short, item, account, cost, currency, found.opened)
            how = "Record the purchase that they came from"
        points.append(
            ClosePoint(
                TO_DO,
                f"{item} oversold",
                f"{named(catalogue[item].name)}: {error.short:f} more went out on {day} "
                f"than there were. {how}, as by this.",
                date=day,
                file=place_of(error.source).file,
                line=place_of(error.source).line,
                settle=settle,
            )
        )
    return Found(tuple(points))


def _newest_lots(
    entries: Iterable[data.Directive], items: set[str]
) -> dict[str, tuple[str, Decimal, str]]:
    """Return the account and the unit cost of the newest lot of items."""
    found = {}
    for entry in entries:
        for posting in entry.postings if isinstance(entry, data.Transaction) else ():
            units, cost = posting.units, posting.cost
            if units is None or units.currency not in items:
                continue
            if isinstance(cost, Cost) and (units.number or ZERO) > ZERO:
                found[units.currency] = posting.account, cost.number, cost.currency
    return found


def _receipt(
    day: datetime.date,
    units: Decimal,
    item: str,
    account: str,
    cost: Decimal,
    currency: str,
    opened: set[str],
) -> str:
    """Return the transaction of what was there and not in the books."""
    opens = "".join(
        f"{day} open {name}\n" for name in (OPENING, account) if name not in opened
    )
    postings = f"  {account}  {units:f} {item} {{{cost:f} {currency}}}\n  {OPENING}"
    narration = "What was there before it was recorded; write its cost"
    return opens + transaction_text(day.isoformat(), narration, "", (), postings)
