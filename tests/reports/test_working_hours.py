"""The maker's minutes in what was sold, from the print runs that say them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from offcut.reports.period import choose_period
from offcut.reports.profit import ALL_GROUPINGS, ProfitReports, profit_reports
from offcut.reports.profit_figures import Figures

D = Decimal


def reports_of(ledger: Any, **period: str) -> ProfitReports:
    return profit_reports(
        *(ledger.entries, ledger.options, choose_period(**period)),
        groupings=ALL_GROUPINGS,
    )


def hours_of(reports: ProfitReports, grouping: Any = "product") -> dict[str, D | None]:
    """Return the hours of each line by its code, or its name."""
    return {
        line.code or line.name: line.figures.hours
        for line in reports.reports[grouping].lines
    }


WORKSHOP = """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
      design: "Birds"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-01 commodity BOUGHT
      stock: "product"
      design: "Birds"
    2025-01-01 commodity SILENT
      stock: "product"
      design: "Silent"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Materials:VINYL
    2025-01-01 open Assets:Stock:BOUGHT
    2025-01-01 open Income:Sales:Web
    2025-01-02 * "Bought"
      Assets:Materials:VINYL  100 VINYL {0.40 USD}
      Assets:Stock:BOUGHT  10 BOUGHT {0.50 USD}
      Assets:Cash
    2025-01-03 custom "print-run" 20 HERON 4 VINYL
      minutes: 60
    2025-01-04 custom "print-run" 20 HERON 4 VINYL
      minutes: 20
    2025-01-05 custom "print-run" 30 SILENT 4 VINYL
"""


SOLD = """
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -20.00 USD
        item: "HERON"
        quantity: 5
      Income:Sales:Web  -2.00 USD
        item: "BOUGHT"
        quantity: 1
      Assets:Cash
"""


def test_a_piece_takes_what_its_runs_took_together(load: Any) -> None:
    # 80 minutes for 40 pieces: two each, ten for five.
    reports = reports_of(load(WORKSHOP + SOLD))
    assert hours_of(reports) == {"HERON": D("0.1667"), "BOUGHT": None}
    # A bought piece takes no hours of its own, nor makes the others' unknown.
    assert hours_of(reports, "design") == {"Birds": D("0.1667")}
    assert hours_of(reports, "channel") == {"Web": D("0.1667")}
    assert hours_of(reports, "order") == {"^order-1": D("0.1667")}
    total = reports.reports["order"].total
    # 22.00, less five at 3.20 / 40 and one at 0.50, in ten minutes.
    assert (total.contribution, total.hourly) == (D("21.10"), D("126.6"))
    assert (reports.has_minutes, reports.untimed) == (True, ())


def test_a_gang_run_is_shared_by_its_pieces(load: Any) -> None:
    run = """
    2025-01-06 custom "print-run" 30 MOTH 10 HERON 4 VINYL
      minutes: 100
    """
    sale = """
    2025-03-01 * "Order"
      Income:Sales:Web  -20.00 USD
        item: "MOTH"
        quantity: 6
      Assets:Cash
    """
    # 75 of the 100 minutes for 30 pieces.
    assert hours_of(reports_of(load(WORKSHOP + run + sale))) == {"MOTH": D("0.25")}


def test_only_runs_until_the_end_of_the_period_count(load: Any) -> None:
    run = """
    2025-04-01 custom "print-run" 40 HERON 4 VINYL
      minutes: 320
    """
    ledger = load(WORKSHOP + run + SOLD)
    assert hours_of(reports_of(ledger, month="2025-03"))["HERON"] == D("0.1667")
    # 400 minutes for 80 pieces.
    assert hours_of(reports_of(ledger, year="2025"))["HERON"] == D("0.4167")


def test_what_comes_back_takes_its_minutes_along(load: Any) -> None:
    back = """
    2025-01-01 open Income:Refunds:Web
    2025-03-09 * "Two came back" ^order-1
      Income:Refunds:Web  8.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    """
    ledger = load(WORKSHOP + SOLD + back)
    assert hours_of(reports_of(ledger, year="2025"))["HERON"] == D("0.1")


def test_a_printed_product_without_minutes_leaves_its_sums_blank(load: Any) -> None:
    sale = """
    2025-03-02 * "Order" ^order-2
      Income:Sales:Web  -4.00 USD
        item: "SILENT"
        quantity: 1
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    reports = reports_of(load(WORKSHOP + SOLD + sale))
    assert hours_of(reports)["SILENT"] is None
    assert hours_of(reports)["HERON"] == D("0.2")
    assert hours_of(reports, "order") == {"^order-1": D("0.1667"), "^order-2": None}
    assert hours_of(reports, "channel") == {"Web": None}
    assert reports.untimed == ("SILENT",)


def test_no_run_says_its_minutes(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Order"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    reports = reports_of(sound_ledger)
    assert reports.reports["design"].total == Figures(units=D(1), gross=D("4.00"))
    assert (reports.has_minutes, reports.untimed) == (False, ())
