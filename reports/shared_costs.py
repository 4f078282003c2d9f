"""Let what was sold at a fair, or in a channel, bear what that cost as a whole.

Two kinds of cost belong to no order and no product, but not to everything either:

- of an event: an expense tagged `#event-…`, such as the table fee. All that was sold at the
  event bears it, whatever the day: the table is paid for in March and earns in May.
- of a channel: an expense with `channel`, such as a marketplace's monthly charge. What the
  channel sold in that calendar month bears it.

Where nothing was sold, the cost stays what it is: unallocated. Each cost is split by
itself, in cents, and stays on its own date, so that the months add up to the year.
"""

from __future__ import annotations

import datetime
import decimal
import operator
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from itertools import chain
from typing import Any, NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO, split_in_cents
from offcut.importers.values import minor_unit
from offcut.plugins.collector import collector_paused
from offcut.reports.account_columns import AMOUNT_COLUMNS
from offcut.reports.allocation import Allocation, Sold
from offcut.reports.exact_sums import (
    groups_together,
    sums_of_groups,
    with_whole_numbers,
)
from offcut.reports.order_columns import TRANSACTION, whole_columns

# What of the order table is told apart when a cost is shared over products.
PRODUCT_KEYS = ("channel", "event", "product", "design", "account")


class Pool(NamedTuple):
    """What was sold together, and bears a cost together.

    Attributes:
      currency: The currency of the sales and the cost.
      event: The event; empty for a channel's month.
      channel: The channel; empty for an event.
      year: The year of a channel's month.
      month: Its month.
    """

    currency: str
    event: str
    channel: str
    year: int
    month: int


class SharedCost(NamedTuple):
    """A cost of a whole event or channel.

    Attributes:
      row: Its position in the order table.
      date: Its date.
      pool: What bears it.
      column: The column that it stands in.
      amount: What it comes to; a cost is negative.
    """

    row: int
    date: datetime.date
    pool: Pool
    column: str
    amount: Decimal


class Part(NamedTuple):
    """What of a cost somebody bears.

    Attributes:
      cost: The cost.
      taker: Who, as the keys that were asked for.
      amount: The part.
    """

    cost: SharedCost
    taker: tuple[str, ...]
    amount: Decimal


# What a taker sold while it is summed up: its value, pieces and weight.
_Sums = list[Decimal]
# Every sum with it is not known either.
UNKNOWN = Decimal("NaN")


class _Takers(NamedTuple):
    """Who bears the costs of a pool, and by what weights."""

    keys: Sequence[tuple[str, ...]]
    weights: Sequence[Decimal]


def shared_costs(table: pd.DataFrame, expenses: str) -> list[SharedCost]:
    """Return the costs of events and channels that belong to no order and no product.

    Args:
      table: An order table.
      expenses: The name of the ledger's expenses.
    """
    is_loose = (table["order"] == "") & (table["design"] == "")
    is_shared = is_loose & ((table["event"] != "") | (table["channel"] != ""))
    is_shared &= table["account"].str.startswith(expenses + ":")
    rows = is_shared.to_numpy().nonzero()[0]
    costs = []
    some = table.iloc[rows]
    names = ("currency", "event", "channel", "date")
    for row, currency, event, channel, date, *amounts in zip(
        rows.tolist(), *_lists(some, (*names, *AMOUNT_COLUMNS)), strict=True
    ):
        if event:
            pool = Pool(currency, event, "", 0, 0)
        else:
            pool = Pool(currency, "", channel, date.year, date.month)
        for column, amount in zip(AMOUNT_COLUMNS, amounts, strict=True):
            if amount:
                costs.append(SharedCost(row, date, pool, column, amount))
    return costs


def shared_parts(
    table: pd.DataFrame,
    costs: Collection[SharedCost],
    allocation: Allocation,
    keys: Sequence[str],
) -> list[Part]:
    """Split costs over what was sold.

    Args:
      table: An order table of all dates.
      costs: Some of its costs.
      allocation: By what to split them.
      keys: The columns that tell apart who bears a part.

    Returns:
      The parts of each cost that anything bears; they add up to it.
    """
    parts: list[Part] = []
    pools = {cost.pool for cost in costs}
    if not pools:
        return parts
    with decimal.localcontext(EXACT), collector_paused():
        takers = {
            pool: _weighed(sums, allocation)
            for pool, sums in _sold(table, pools, allocation, keys).items()
        }
        for cost in costs:
            bearing = takers.get(cost.pool)
            if bearing is None or not any(bearing.weights):
                continue
            coin = minor_unit(cost.pool.currency)
            amounts = split_in_cents(cost.amount, bearing.weights, coin)
            parts += (
                Part(cost, key, amount)
                for key, amount in zip(bearing.keys, amounts, strict=True)
                if amount
            )
    return parts


def with_shared_costs(
    table: pd.DataFrame, allocation: Allocation, expenses: str
) -> pd.DataFrame:
    """Return an order table in which products bear the costs of events and channels.

    A cost's row gives way to one for each product, channel and event that bear a part: on
    the cost's date, in its column and with its account; a part of a sale whose product is
    not known has that sale's account.

    Args:
      table: An order table of all dates.
      allocation: By what to split them.
      expenses: The name of the ledger's expenses.
    """
    costs = shared_costs(table, expenses)
    parts = shared_parts(table, costs, allocation, PRODUCT_KEYS)
    if not parts:
        return table
    replaced = {part.cost.row for part in parts}
    # As the parts of a cost stand beside one another, so do the rows that replace it.
    origin = pd.RangeIndex(len(table))
    rest = table.set_axis(origin).drop(index=list(replaced))
    rows = _rows(table, parts)
    amounts = zip(*(rows[name] for name in AMOUNT_COLUMNS), strict=True)
    whole = whole_columns(list(chain.from_iterable(amounts)), rows["quantity"])
    added = pd.DataFrame(rows | whole, index=[part.cost.row for part in parts])
    # A part of more digits than whole numbers have leaves its column without them.
    names = [name for name in table.columns if name in added.columns]
    added = added.astype({name: table.dtypes[name] for name in names})
    return (
        pd.concat([rest[names], added[names]])
        .sort_index(kind="stable")
        .reset_index(drop=True)
    )


def _lists(table: pd.DataFrame, names: Iterable[str]) -> list[list[Any]]:
    """Return columns as lists, which are many times faster to walk through."""
    return [table[name].tolist() for name in names]


def _sold(
    table: pd.DataFrame,
    pools: Collection[Pool],
    allocation: Allocation,
    keys: Sequence[str],
) -> dict[Pool, dict[tuple[str, ...], _Sums]]:
    """Return what each taker of each pool sold."""
    sold: dict[Pool, dict[tuple[str, ...], _Sums]] = {pool: {} for pool in pools}
    names = ("currency", "event", "channel")
    of_rows = dict.fromkeys((*names, *keys, "date", "design", "product"))
    of_sums = with_whole_numbers(table, ("quantity", "sales"))
    mine = table[[*of_rows, *of_sums]][
        (table["quantity"].astype(bool) | table["sales"].astype(bool))
        & (
            table["event"].isin({pool.event for pool in pools if pool.event})
            | table["channel"].isin({pool.channel for pool in pools if pool.channel})
        )
    ]
    if mine.empty:
        return sold
    dates = mine["date"].tolist()
    months = {date: (date.year, date.month) for date in set(dates)}
    mine = mine.assign(
        month=pd.Series([months[date] for date in dates], mine.index, dtype=object),
        # What is of a known product is one, on whatever account a part of it stands.
        account=mine["account"].where(mine["design"] == "", ""),
        grams=pd.Series(_grams(mine, allocation), mine.index, dtype=object),
    )
    pool_keys = (*names, "month")
    numbers = mine.groupby([*pool_keys, *keys], sort=False).ngroup().to_numpy()
    together, starts = groups_together(numbers)
    sums = sums_of_groups(mine, ("sales", "quantity", "grams"), together, starts)
    firsts = mine[list(dict.fromkeys((*pool_keys, *keys)))].iloc[together[starts]]
    takers = zip(*_lists(firsts, keys), strict=True)
    for currency, event, channel, month, key, *some in zip(
        *_lists(firsts, pool_keys), takers, *sums, strict=True
    ):
        bearing = []
        if event:
            bearing.append(sold.get(Pool(currency, event, "", 0, 0)))
        if channel:
            bearing.append(sold.get(Pool(currency, "", channel, *month)))
        for takers_of_pool in bearing:
            if takers_of_pool is not None:
                before = takers_of_pool.get(key)
                takers_of_pool[key] = (
                    list(map(operator.add, before, some)) if before else some
                )
    return sold


def _grams(table: pd.DataFrame, allocation: Allocation) -> list[Decimal]:
    """Return what each row weighs; of a weight that is not known, what makes no sum."""
    if allocation.rule != "weight":
        return [ZERO] * len(table)
    grams = map(allocation.grams_of, *_lists(table, ("product", "quantity")))
    return [UNKNOWN if each is None else each for each in grams]


def _weighed(sums: dict[tuple[str, ...], _Sums], allocation: Allocation) -> _Takers:
    """Return the takers of a pool in an order that does not depend on the ledger's."""
    keys = sorted(sums)
    sold = [
        Sold(value, units, None if grams.is_nan() else grams)
        for value, units, grams in map(sums.__getitem__, keys)
    ]
    return _Takers(keys, allocation.of(sold))


def _rows(table: pd.DataFrame, parts: Sequence[Part]) -> dict[str, list[Any]]:
    """Return the columns of the rows that parts make."""
    whole = table.iloc[[part.cost.row for part in parts]]
    accounts = whole["account"].tolist()
    takers = [dict(zip(PRODUCT_KEYS, part.taker, strict=True)) for part in parts]
    columns = {
        name: [taker[name] for taker in takers]
        for name in ("channel", "event", "product", "design")
    }
    return {
        **columns,
        "order": [""] * len(parts),
        "date": [part.cost.date for part in parts],
        "file": whole["file"].tolist(),
        "line": whole["line"].tolist(),
        TRANSACTION: whole[TRANSACTION].tolist(),
        "quantity": [ZERO] * len(parts),
        **{
            name: [part.amount if part.cost.column == name else ZERO for part in parts]
            for name in AMOUNT_COLUMNS
        },
        "sales": [
            part.amount if part.cost.column in ("gross", "discount", "refund") else ZERO
            for part in parts
        ],
        "contribution": [part.amount for part in parts],
        "currency": [part.cost.pool.currency for part in parts],
        "account": [
            account if taker["design"] else taker["account"]
            for account, taker in zip(accounts, takers, strict=True)
        ],
    }
