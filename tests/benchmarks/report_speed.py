"""What all reports cost beside loading the ledger that they are about.

    python tests/benchmarks/report_speed.py [--orders 100000] [--products 120] [--repeat 2]

Loads a generated ledger with the stock plugin, and with a monthly charge of its channel
that what was sold bears. Then makes what `offcut report` tells of it, report by report, all
in one process, and prints the share of the load that each took, at its quickest, and all
together. A report takes what those before it have worked out.
"""

from __future__ import annotations

import argparse
import datetime
import resource
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from bars import print_bar
from beancount import loader
from generated_ledger import DAYS, FIRST_DAY, write_ledger

from offcut.plugins.collector import collector_paused
from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.inventory_statement import inventory_statement
from offcut.reports.period import Period
from offcut.reports.profit import ALL_GROUPINGS, profit_of
from offcut.reports.profit_sources import profit_sources
from offcut.reports.profit_statement import ORDERS_ON_A_PAGE, profit_statement
from offcut.reports.shelf.on_hand import DEAD_DAYS, SLOW_WEEKS
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.trend import GROUPINGS as TRENDS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.years_statement import years_statement

LAST_YEAR = FIRST_DAY.year + DAYS // 365
# What is not part of the report unless it is asked for.
APART = ("order table by units",)
# What profit needs, and is.
OF_PROFIT = (
    *("order table", "shared costs", "net income of the ledger", "profit, all five"),
    *(f"  its statement, by {grouping}" for grouping in ALL_GROUPINGS),
)


def timed(step: Callable[[], Any]) -> tuple[Any, float]:
    """Return the result of a step and the processor seconds that it took."""
    start = time.process_time()
    result = step()
    return result, time.process_time() - start


def _charges() -> str:
    """Return a monthly charge of the channel."""
    lines = [f"{FIRST_DAY} open Expenses:Marketing:Listing"]
    for year in range(FIRST_DAY.year, LAST_YEAR + 1):
        for month in range(1, 13):
            lines.append(
                f'{year}-{month:02}-01 * "Charge"\n  channel: "Web"\n'
                "  Expenses:Marketing:Listing  21.00 USD\n  Assets:Bank:Checking"
            )
    return "\n".join(["", *lines, ""])


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--products", type=int, default=120)
    parser.add_argument("--repeat", type=int, default=2)
    args = parser.parse_args()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "main.beancount")
        write_ledger(path, args.orders, args.products, "plugin")
        text = path.read_text(encoding="utf-8") + _charges()
    (entries, errors, options), load = timed(lambda: loader.load_string(text))
    assert not errors, errors[0]

    seconds: dict[str, float] = {}
    with collector_paused():  # as `whole_report` does
        for _ in range(args.repeat):
            for name, step in _steps(Books(entries, options)):
                taken = timed(step)[1]
                seconds[name] = min(seconds.get(name, taken), taken)

    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{args.orders:,} orders, {args.products} products, {memory:,.0f} MiB")
    together = sum(some for name, some in seconds.items() if name not in APART)
    for name, some in {"load": load, **seconds, "all reports": together}.items():
        print(f"{name:28} {some:7.2f} s  {some / load:7.1%}")
    print_bar("all reports / load with the stock plugin", together / load, 0.25)
    profits = sum(seconds[name] for name in seconds if name in OF_PROFIT)
    print_bar("  profit, by all five groupings, alone", profits / load, 0.25)


def _steps(books: Books) -> Iterator[tuple[str, Callable[[], Any]]]:
    """Yield what `offcut report` works out of books, in its order, each once."""
    every, today = Period(), datetime.date(LAST_YEAR, 6, 30)
    currency = books.options["operating_currency"][0]
    yield "order table", lambda: books.table
    yield "shared costs", lambda: books.allocated("value")
    yield "net income of the ledger", lambda: books.net_income(every)
    yield "profit, all five", lambda: profit_of(books, every, currency, ALL_GROUPINGS)
    reports = profit_of(books, every, currency, ALL_GROUPINGS)
    assert all(report.tie.holds for report in reports.reports.values())
    for grouping in ALL_GROUPINGS:
        yield (
            f"  its statement, by {grouping}",
            partial(profit_statement, reports, grouping, True, ORDERS_ON_A_PAGE),
        )
    yield "  what is behind it", lambda: profit_sources(books, reports)
    yield "channels", lambda: channels_statement(books, every, currency, today)
    yield "stock moves", lambda: books.stock_moves
    yield "trace index", lambda: books.trace_index
    stock = books.stock_currency
    yield (
        "shelf",
        lambda: shelf_statement(books, every.up_to(today), stock, SLOW_WEEKS, DEAD_DAYS),
    )
    yield "inventory roll", lambda: inventory_statement(books, every, stock)
    for trend in TRENDS:
        yield (
            f"trend, {trend}",
            partial(trend_statement, books, every, currency, trend, today),
        )
    yield "years", lambda: years_statement(books, every, currency, today)
    yield APART[0], lambda: books.table_by("units")


if __name__ == "__main__":
    main()
