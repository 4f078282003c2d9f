"""What a year-end pack costs beside loading the ledger that it is about.

    python tests/benchmarks/year_end_speed.py [--orders 100000] [--products 120]

Loads a generated ledger with the stock plugin, makes the statements of `offcut year-end`
under the United States rules of its last year, and prints the processor seconds of each
part of the pack, at its quickest, with their share of the load's.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bars import print_bar
from beancount import loader
from generated_ledger import DAYS, FIRST_DAY, write_ledger

from offcut.plugins.collector import collector_paused
from offcut.reports.books import Books
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_settings import tax_settings
from offcut.reports.year_end_statement import year_end_statements

YEAR = str(FIRST_DAY.year + DAYS // 365)
SETTINGS = '[tax]\njurisdiction = "us-federal"\n'


def timed(step: Callable[[], Any]) -> tuple[Any, float]:
    """Return the result of a step and the processor seconds that it took."""
    start = time.process_time()
    result = step()
    return result, time.process_time() - start


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--products", type=int, default=120)
    parser.add_argument("--repeat", type=int, default=2)
    args = parser.parse_args()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "main.beancount")
        write_ledger(path, args.orders, args.products, "plugin")
        path.with_name("offcut.toml").write_text(SETTINGS, encoding="utf-8")
        text = path.read_text(encoding="utf-8")
        rules = find_rules("us-federal", YEAR, path.parent)
        settings = tax_settings(path)
    (entries, errors, options), load = timed(lambda: loader.load_string(text))
    assert not errors, errors[0]

    seconds: dict[str, float] = {}
    with collector_paused():
        for _ in range(args.repeat):
            shop = TaxBooks(Books(entries, options), rules, settings)
            steps: dict[str, Callable[[], Any]] = {
                "errors of the tax settings": lambda shop=shop: shop.errors,
                "the statements": lambda shop=shop: year_end_statements(shop),
            }
            for name, step in steps.items():
                result, taken = timed(step)
                seconds[name] = min(seconds.get(name, taken), taken)
    print(f"{args.orders:,} orders, {args.products} products, year {YEAR}")
    print(f"{len(result)} statements, all hold: {all(each.holds for each in result)}")
    together = sum(seconds.values())
    for name, some in {"load": load, **seconds, "year-end pack": together}.items():
        print(f"{name:28} {some:7.2f} s  {some / load:7.1%}")
    print_bar("a year-end pack / load with the stock plugin", together / load, 0.10)


if __name__ == "__main__":
    main()
