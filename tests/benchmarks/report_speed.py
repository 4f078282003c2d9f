"""What the profit reports cost beside loading the ledger that they are about.

    python tests/benchmarks/report_speed.py [--orders 100000] [--products 120]

Loads a generated ledger with the stock plugin, and with a monthly charge of its channel
that what was sold bears. Then makes the order table, shares the charges out, and makes the
reports of all groupings and their statements, with the ledger's net income to hold them
against, all in one process, and prints each as a ratio to the load.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from beancount import loader
from generated_ledger import DAYS, FIRST_DAY, write_ledger

from offcut.reports.books import Books
from offcut.reports.net_income import net_income
from offcut.reports.period import Period
from offcut.reports.profit import ALL_GROUPINGS, GROUPINGS, profit_of
from offcut.reports.profit_statement import ORDERS_ON_A_PAGE, profit_statement

LAST_YEAR = FIRST_DAY.year + DAYS // 365


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
    args = parser.parse_args()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "main.beancount")
        write_ledger(path, args.orders, args.products, "plugin")
        text = path.read_text(encoding="utf-8") + _charges()
    (entries, errors, options), load = timed(lambda: loader.load_string(text))
    assert not errors, errors[0]

    books, every, usual = Books(entries, options), Period(), GROUPINGS
    table, making = timed(lambda: books.table)
    _, sharing = timed(lambda: books.allocated("value"))
    _, taking = timed(lambda: net_income(entries, options, every))
    _, of_usual = timed(lambda: profit_of(books, every, groupings=usual))
    reports, of_all = timed(lambda: profit_of(books, every, groupings=ALL_GROUPINGS))
    assert all(report.tie.holds for report in reports.reports.values())
    _, stating = timed(
        lambda: [
            profit_statement(reports, grouping, True, ORDERS_ON_A_PAGE)
            for grouping in ALL_GROUPINGS
        ]
    )
    _, by_units = timed(lambda: books.table_by("units"))

    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{args.orders:,} orders, {len(table):,} rows, {args.products} products, "
        f"{memory:,.0f} MiB"
    )
    steps = {
        "load with the stock plugin": load,
        "order table": making,
        "shared costs": sharing,
        "net income of the ledger": taking,
        "profit, design and channel": of_usual,
        "profit, all five": of_all,
        "their statements": stating,
        "all reports": making + sharing + of_all + stating,
        "order table by units": by_units,
    }
    for name, seconds in steps.items():
        print(f"{name:28} {seconds:7.2f} s  {seconds / load:6.3f}")


if __name__ == "__main__":
    main()
