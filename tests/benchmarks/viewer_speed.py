"""What the viewer's pages cost beside fava's own income statement of the same ledger.

    python tests/benchmarks/viewer_speed.py [--orders 100000] [--products 120]

Loads a generated ledger into fava with the reports. Asks for fava's income statement, page
and figures, then for each report as it is made for the first time, and again as it is kept,
and prints the processor seconds of each with their ratio to fava's. The first report makes
the order table, which those after it take.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from pathlib import Path

from generated_ledger import write_ledger

from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.server import viewer


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--orders", type=int, default=100_000)
    parser.add_argument("--products", type=int, default=120)
    args = parser.parse_args()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "main.beancount")
        write_ledger(path, args.orders, args.products, "plugin")
        start = time.process_time()
        app = viewer(path, can_edit=False)
        load = time.process_time() - start
        slug = app.config["LEDGERS"].first_slug()
        client = app.test_client()

        def seconds(*addresses: str) -> float:
            start = time.process_time()
            for address in addresses:
                response = client.get(f"/{slug}/{address}")
                assert response.status_code == 200, response.text
            return time.process_time() - start

        favas = seconds("income_statement/", "api/income_statement")
        print(f"{'load':24} {load:8.2f} s")
        print(f"{'fava, income statement':24} {favas:8.2f} s")
        for report in CONTENTS:
            page = f"extension/Offcut/?report={report}"
            first, kept = seconds(page), seconds(page)
            print(
                f"{report:24} {first:8.2f} s {first / favas:7.2f}   "
                f"again {kept:6.3f} s {kept / favas:6.3f}"
            )
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{args.orders:,} orders, {args.products} products, {memory:,.0f} MiB")


if __name__ == "__main__":
    main()
