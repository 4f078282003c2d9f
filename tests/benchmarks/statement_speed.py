"""What a month's statement of a bank costs beside looking through the ledger alone.

    python tests/benchmarks/statement_speed.py [--orders 100000] [--rounds 5]

The ledger is the generated one with a payout every week and a month of unpaid orders;
the statement has its arrivals, payments that name orders, and rows that nothing is known
of. Each round imports it into a ledger that does not have it, and that includes its
imports already; the best of each is compared, as the machine's other work only ever adds.
"""

from __future__ import annotations

import argparse
import datetime
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from bars import print_bar
from generated_ledger import DAYS, FIRST_DAY, write_ledger

from offcut.importers.importing import import_files
from offcut.importers.known import scan_ledger

HEADER = "Booked,Counterparty,Purpose,Amount,Currency,Entry"
LAYOUT = """\
[layouts.statement]
kind = "bank"
source = "checking"
currency = "USD"
[layouts.statement.columns]
date = "Booked"
payee = "Counterparty"
text = "Purpose"
gross = "Amount"
currency = "Currency"
id = "Entry"
"""
LAST = FIRST_DAY + datetime.timedelta(DAYS)


def add_open_items(ledger: Path) -> None:
    """Add weekly payouts and unpaid orders to a ledger."""
    with ledger.open("a") as file:
        file.write('include "imports/*.beancount"\n')
        for account in ("Assets:Clearing:Payouts", "Assets:Receivable:Web"):
            file.write(f"{FIRST_DAY} open {account}\n")
        for number in range(DAYS // 7):
            day = FIRST_DAY + datetime.timedelta(7 * number)
            file.write(
                f'{day} * "Payout" ^payout-{number}\n  movement: "payout"\n'
                f"  Assets:Clearing:Payouts  {number + 100}.00 USD\n"
                f"  Assets:Clearing:Card  -{number + 100}.00 USD\n"
            )
        for number in range(30):
            file.write(
                f'{LAST} * "Invoice" ^order-INV-{number}\n'
                "  Assets:Receivable:Web  60.00 USD\n  Income:Sales:Web  -60.00 USD\n"
            )


def write_statement(path: Path) -> int:
    """Write the statement of the last month; return its rows."""
    rows = [HEADER]
    for number in range(DAYS // 7 - 4, DAYS // 7):
        day = FIRST_DAY + datetime.timedelta(7 * number + 2)
        rows.append(f"{day},Card processor,Transfer,{number + 100}.00,USD,P{number}")
    for number in range(10):
        rows.append(f"{LAST},Shop {number},Invoice INV-{number},60.00,USD,I{number}")
    for number in range(26):
        rows.append(f"{LAST},Supplier {number},Printer no. {number},-9.00,USD,S{number}")
    path.write_text("\n".join(rows) + "\n")
    return len(rows) - 1


def timed(work: Callable[[], object]) -> float:
    """Return the seconds that some work takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ledger = folder / "main.beancount"
        write_ledger(ledger, options.orders)
        add_open_items(ledger)
        (folder / "offcut.toml").write_text(LAYOUT)
        original = ledger.read_bytes()
        rows = write_statement(folder / "bank.csv")
        scans, imports = [], []
        for _ in range(options.rounds):
            ledger.write_bytes(original)
            shutil.rmtree(folder / "imports", ignore_errors=True)
            scans.append(timed(lambda: scan_ledger(ledger)))
            imports.append(timed(lambda: import_files([folder / "bank.csv"], ledger)))
        again = timed(lambda: import_files([folder / "bank.csv"], ledger))
        report = import_files([folder / "bank.csv"], ledger)
        print(f"{options.orders:,} orders, {len(original) / 2**20:.0f} MiB, {rows} rows")
        print(f"looking through the ledger alone: {min(scans):.2f} s")
        print(f"import of the statement:          {min(imports):.2f} s")
        ratio = min(imports) / min(scans)
        print_bar(
            "a bank's month into such a ledger / looking through it alone", ratio, None
        )
        print(f"import of the same again:         {again:.2f} s")
        print(f"waiting: {len(report.bank.unmatched)}", end=", ")
        print(f"payouts that did not arrive: {len(report.bank.not_arrived)}")


if __name__ == "__main__":
    main()
