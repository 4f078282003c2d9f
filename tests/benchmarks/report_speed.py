"""What the profit reports cost beside loading the ledger that they are about.

    python tests/benchmarks/report_speed.py [--orders 100000] [--products 120]

Loads a generated ledger with the stock plugin, then makes the order table, both reports
and the ledger's net income to hold them against, all in one process, and prints each as
a ratio to the load.
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
from generated_ledger import write_ledger

from offcut.plugins.catalogue import read_catalogue
from offcut.reports.net_income import net_income
from offcut.reports.order_table import order_table
from offcut.reports.period import Period
from offcut.reports.profit import profit_report


def timed(step: Callable[[], Any]) -> tuple[Any, float]:
    """Return the result of a step and the processor seconds that it took."""
    start = time.process_time()
    result = step()
    return result, time.process_time() - start


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--products", type=int, default=120)
    args = parser.parse_args()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "main.beancount")
        write_ledger(path, args.orders, args.products, "plugin")
        text = path.read_text(encoding="utf-8")
    (entries, errors, options), load = timed(lambda: loader.load_string(text))
    assert not errors, errors[0]

    names = {item.currency: item.name for item in read_catalogue(entries).values()}
    table, making = timed(lambda: order_table(entries, options))
    incomes, taking = timed(lambda: net_income(entries, options, Period()))
    income = incomes["USD"]
    designs, by_design = timed(lambda: profit_report(table, "design", "USD", income, names))
    channels, by_channel = timed(
        lambda: profit_report(table, "channel", "USD", income, names)
    )
    assert designs.tie.holds and channels.tie.holds, designs.tie.sentence

    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{args.orders:,} orders, {len(table):,} rows, {args.products} products, "
        f"{memory:,.0f} MiB"
    )
    steps = {
        "load with the stock plugin": load,
        "order table": making,
        "profit per design": by_design,
        "profit per channel": by_channel,
        "net income of the ledger": taking,
        "all reports": making + by_design + by_channel + taking,
    }
    for name, seconds in steps.items():
        print(f"{name:28} {seconds:7.2f} s  {seconds / load:6.3f}")


if __name__ == "__main__":
    main()
