"""Group the order table into profit per design and profit per channel."""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, Literal

import pandas as pd
from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import read_catalogue
from offcut.reports.currencies import report_currency
from offcut.reports.net_income import Tie, net_income
from offcut.reports.order_table import order_table
from offcut.reports.period import Period

Grouping = Literal["design", "channel"]
GROUPINGS: tuple[Grouping, ...] = ("design", "channel")

# Order lines are of a product or of an account; their channel may not be known.
NO_CHANNEL = "Orders of no known channel"


@dataclass(frozen=True)
class Figures:
    """What a design, a channel or an account comes to.

    Income is positive and costs are negative, so the amounts add up to the contribution.

    Attributes:
      units: Pieces sold, less those that came back.
      sales: After discounts and refunds.
      shipping: Charged to buyers.
      fees: Of payments and marketplaces.
      delivery: Postage and packaging.
      goods: Cost of goods sold.
      other: All other income and costs.
      contribution: All amounts together.
    """

    units: Decimal = ZERO
    sales: Decimal = ZERO
    shipping: Decimal = ZERO
    fees: Decimal = ZERO
    delivery: Decimal = ZERO
    goods: Decimal = ZERO
    other: Decimal = ZERO
    contribution: Decimal = ZERO

    @property
    def income(self) -> Decimal:
        """What buyers paid, sales tax apart: sales and shipping."""
        return self.sales + self.shipping

    @property
    def carriage(self) -> Decimal:
        """What buyers were charged for shipping, less what postage and packaging cost."""
        return self.shipping + self.delivery

    @property
    def charges(self) -> Decimal:
        """Fees, and all other income and costs."""
        return self.fees + self.other

    @property
    def margin(self) -> Decimal | None:
        """The contribution as a share of the income; None where there is no income."""
        return self.contribution / self.income if self.income > ZERO else None


COLUMNS_OF = {
    "units": ["quantity"],
    "sales": ["sales"],
    "shipping": ["shipping"],
    "fees": ["fees"],
    "delivery": ["postage", "packaging"],
    "goods": ["cost_of_goods"],
    "other": ["other"],
    "contribution": ["contribution"],
}
SUMMED = [name for names in COLUMNS_OF.values() for name in names]


@dataclass(frozen=True)
class ProfitLine:
    """A line of a report, with the products of a design below it.

    Attributes:
      name: The name to show.
      figures: Its figures, those of its parts included.
      parts: Lines of the products of a design; empty where there is one product only.
      code: The commodity of a product; of a design, where it is its only product.
    """

    name: str
    figures: Figures
    parts: tuple[ProfitLine, ...] = ()
    code: str = ""


@dataclass(frozen=True)
class ProfitReport:
    """Profit by design or by channel; every row of the period is in it exactly once.

    Attributes:
      grouping: What the lines are.
      currency: The currency of all amounts.
      lines: By contribution, then name.
      grouped: The lines together.
      unallocated: What belongs to no line, by account.
      unallocated_total: That together.
      total: Everything.
      tie: The total held against the ledger.
    """

    grouping: Grouping
    currency: str
    lines: tuple[ProfitLine, ...]
    grouped: Figures
    unallocated: tuple[ProfitLine, ...]
    unallocated_total: Figures
    total: Figures
    tie: Tie


@dataclass(frozen=True)
class ProfitReports:
    """Both reports on one period of one ledger.

    Attributes:
      title: The ledger's title.
      period: The days.
      currency: The currency of both.
      reports: The report of each grouping.
      elsewhere: The ledger's net income over the same days in other currencies.
    """

    title: str
    period: Period
    currency: str
    reports: Mapping[Grouping, ProfitReport]
    elsewhere: Mapping[str, Decimal]


def profit_reports(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    currency: str | None = None,
) -> ProfitReports:
    """Report the profit of a loaded ledger.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days to report on.
      currency: The currency; by default the ledger's first operating currency.
    """
    entries = list(entries)
    table = order_table(entries, options_map)
    currency = currency or report_currency(table, options_map)
    table = in_period(table, period)
    names = {item.currency: item.name for item in read_catalogue(entries).values()}
    incomes = net_income(entries, options_map, period)
    ledger = incomes.pop(currency, ZERO)
    mine = table[table["currency"] == currency]
    return ProfitReports(
        title=str(options_map.get("title") or ""),
        period=period,
        currency=currency,
        reports={
            grouping: profit_report(mine, grouping, currency, ledger, names)
            for grouping in GROUPINGS
        },
        elsewhere=dict(sorted(incomes.items())),
    )


def in_period(table: pd.DataFrame, period: Period) -> pd.DataFrame:
    """Return the rows of an order table that fall in a period.

    Args:
      table: An order table.
      period: The days to keep.
    """
    if period.first is not None:
        table = table[table["date"] >= period.first]
    if period.last is not None:
        table = table[table["date"] <= period.last]
    return table


def profit_report(
    table: pd.DataFrame,
    grouping: Grouping,
    currency: str,
    ledger: Decimal,
    names: Mapping[str, str],
) -> ProfitReport:
    """Group an order table by design or by channel.

    Args:
      table: The rows of one currency and period.
      grouping: What to group by.
      currency: The currency of all rows.
      ledger: The ledger's net income to hold the total against.
      names: Names of products to show, by commodity.
    """
    with decimal.localcontext(EXACT):
        has_group = table[grouping] != ""
        keys = ["design", "product"] if grouping == "design" else ["channel"]
        lines: dict[str, list[ProfitLine]] = {}
        for key, figures in _sums(table[has_group], keys):
            code = key[1] if grouping == "design" else ""
            line = ProfitLine(names.get(code, key[-1]), figures, code=code)
            lines.setdefault(key[0], []).append(line)
        unallocated = [
            ProfitLine(account or NO_CHANNEL, figures)
            for (account,), figures in _sums(table[~has_group], ["account"])
            if figures != Figures()
        ]
        grouped = _together(line.figures for parts in lines.values() for line in parts)
        unallocated_total = _together(line.figures for line in unallocated)
        total = _together([grouped, unallocated_total])
        return ProfitReport(
            grouping=grouping,
            currency=currency,
            lines=_sorted(_line(name, parts) for name, parts in lines.items()),
            grouped=grouped,
            unallocated=_sorted(unallocated),
            unallocated_total=unallocated_total,
            total=total,
            tie=Tie(total.contribution, ledger, currency),
        )


def _sums(
    table: pd.DataFrame, keys: list[str]
) -> Iterable[tuple[tuple[str, ...], Figures]]:
    """Yield the figures of each group of rows."""
    if table.empty:
        return
    sums = table.groupby(keys, sort=False)[SUMMED].sum()
    for key, row in zip(sums.index, sums.to_dict("records"), strict=True):
        yield (
            key if isinstance(key, tuple) else (key,),
            Figures(
                **{
                    name: sum((row[column] for column in columns), ZERO)
                    for name, columns in COLUMNS_OF.items()
                }
            ),
        )


def _together(figures: Iterable[Figures]) -> Figures:
    """Return the sum of figures."""
    several = list(figures)
    return Figures(
        **{
            each.name: sum((getattr(one, each.name) for one in several), ZERO)
            for each in fields(Figures)
        }
    )


def _line(name: str, parts: list[ProfitLine]) -> ProfitLine:
    """Return the line of a design over its products, or of a channel."""
    if len(parts) == 1:
        return ProfitLine(name, parts[0].figures, code=parts[0].code)
    return ProfitLine(name, _together(part.figures for part in parts), _sorted(parts))


def _sorted(lines: Iterable[ProfitLine]) -> tuple[ProfitLine, ...]:
    """Return lines by contribution, the largest first, then by name."""
    return tuple(sorted(lines, key=lambda line: (-line.figures.contribution, line.name)))
