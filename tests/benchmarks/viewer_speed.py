"""What the viewer's pages cost beside fava's own income statement of the same ledger.

    python tests/benchmarks/viewer_speed.py [--orders 100000] [--products 120]

Loads a generated ledger into fava with the reports, and says what of the load is for what
nearly all pages take. Asks for fava's income statement, page and figures, then for each
page as it is made for the first time, and again as it is kept, and prints the processor
seconds of each with their ratio to fava's. The bars are 1.0 for the first time and 0.25
for the second. The cycle collector runs before each, so that no page pays for another's.
"""

from __future__ import annotations

import argparse
import gc
import resource
import tempfile
import time
from pathlib import Path
from urllib.parse import quote

from bars import print_bar
from generated_ledger import write_ledger

from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.load import Load
from offcut.reports.viewer.server import viewer

FIRST_BAR, KEPT_BAR = 1.0, 0.25


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
        ledgers = app.config["LEDGERS"]
        slug = ledgers.first_slug()
        client = app.test_client()

        def seconds(*addresses: str) -> float:
            gc.collect()
            start = time.process_time()
            for address in addresses:
                response = client.get(f"/{slug}/{address}")
                assert response.status_code == 200, response.text
            return time.process_time() - start

        # The same once more, since it was within the load.
        again = Load(ledgers.ledgers[0])
        start = time.process_time()
        again.prepare()
        prepared = time.process_time() - start
        del again

        favas = seconds("income_statement/", "api/income_statement")
        print(f"{'load':24} {load:8.2f} s")
        print(f"{'of it for the reports':24} {prepared:8.2f} s {prepared / load:7.1%}")
        print(f"{'fava, income statement':24} {favas:8.2f} s")
        firsts, keeps = [], []
        for name, page in pages(ledgers.ledgers[0].all_entries).items():
            address = f"extension/Offcut/?{page}"
            first, kept = seconds(address), seconds(address)
            firsts.append(first)
            keeps.append(kept)
            marks = (
                "" if first < FIRST_BAR * favas and kept < KEPT_BAR * favas else "  over"
            )
            print(
                f"{name:24} {first:8.2f} s {first / favas:7.2f}   "
                f"again {kept:6.3f} s {kept / favas:6.3f}{marks}"
            )
    most = "the slowest page of the viewer / fava's income statement"
    print_bar(f"{most}, first time", max(firsts) / favas, FIRST_BAR)
    print_bar(f"{most}, again", max(keeps) / favas, KEPT_BAR)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{args.orders:,} orders, {args.products} products, {memory:,.0f} MiB at most")


def pages(entries: object) -> dict[str, str]:
    """Return the addresses of the pages: each report, and a design's own page."""
    found = {name: f"report={name}" for name in CONTENTS if name != "trace"}
    designs = sorted(
        entry.meta["design"]  # type: ignore[attr-defined]
        for entry in entries  # type: ignore[attr-defined]
        if "design" in (entry.meta or {})
    )
    found["one design"] = f"report=design&name={quote(designs[0])}"
    found["time, by quarter"] = "report=time&interval=quarter"
    return found


if __name__ == "__main__":
    main()
