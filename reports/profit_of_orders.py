"""Make the lines of profit per order: the only report whose table has a row an order."""

from __future__ import annotations

import datetime
import decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT
from offcut.reports.allocation import Rule, read_allocation
from offcut.reports.books import Books
from offcut.reports.exact_sums import with_whole_numbers
from offcut.reports.order_lines import ORDER_LINK
from offcut.reports.order_table import in_period, of_currency
from offcut.reports.period import Period
from offcut.reports.profit_figures import SUMMED, Figures, sums_by
from offcut.reports.profit_lines import ProfitLine, loose_lines
from offcut.reports.shared_costs import shared_costs, shared_parts
from offcut.reports.working_hours import WorkingHours


class OrderGroup(NamedTuple):
    """What the order table is summed up by for orders.

    Two channels may number their orders alike. An account is told apart only of what
    belongs to no order.
    """

    channel: str
    order: str
    account: str


def lines_of_orders(
    books: Books, period: Period, currency: str, rule: Rule, hours: WorkingHours
) -> tuple[tuple[ProfitLine, ...], tuple[ProfitLine, ...]]:
    """Return the line of each order, by date, and what belongs to none.

    An order bears its part of its event's and its channel's costs as well. These parts
    are added to its figures: a row for each, as products have, would make a table many
    times as long.

    Args:
      books: The books.
      period: The days to report on.
      currency: The currency to take.
      rule: By what shared costs are split.
      hours: What is known of the time that pieces took.
    """
    table = books.table_by(rule)
    costs = [
        cost
        for cost in shared_costs(table, books.options["name_expenses"])
        if cost.pool.currency == currency and cost.date in period
    ]
    keys = OrderGroup._fields
    names = (*keys, "date", "currency", "event", "design", "product")
    table = table[[*names, *with_whole_numbers(table, ("sales", *SUMMED))]]
    table = table.assign(account=table["account"].where(table["order"] == "", ""))
    parts = shared_parts(table, costs, read_allocation(books.entries, rule), keys)
    borne = {part.cost.row for part in parts}
    rest = table.drop(index=list(borne)) if borne else table
    sums = sums_by(in_period(of_currency(rest, currency), period), keys, hours)
    with decimal.localcontext(EXACT):
        for part in parts:
            at = SUMMED.index(part.cost.column)
            sums.add(part.taker, part.cost.date, at, part.amount)
    lines = []
    loose: dict[str, list[Figures]] = {}
    for (channel, order, account), row in sums.groups.items():
        figures = Figures(*row)
        if not order:
            name = account or f"{channel or 'Sold'}, of no order"
            loose.setdefault(name, []).append(figures)
            continue
        date = sums.dates[channel, order, account]
        lines.append(ProfitLine(order, figures, (), f"^{ORDER_LINK}{order}", date, channel))
    lines.sort(key=lambda line: (line.date or datetime.date.min, line.name, line.channel))
    return tuple(lines), loose_lines(loose)
