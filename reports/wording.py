"""Hold the words that the terminal and the page share."""

from __future__ import annotations

from offcut.reports.figures import money, percentage, pieces, rounded
from offcut.reports.profit import Figures, Grouping, ProfitReport
from offcut.reports.splitting import ZERO

TITLES: dict[Grouping, str] = {
    "design": "Profit per design",
    "channel": "Profit per channel",
}
UNALLOCATED_TITLES: dict[Grouping, str] = {
    "design": "Unallocated: belongs to no design",
    "channel": "Unallocated: belongs to no channel",
}
# In the order of the columns; the amounts before the contribution add up to it.
AMOUNT_HEADINGS = {
    "sales": "Sales",
    "shipping": "Shipping",
    "fees": "Fees",
    "delivery": "Post, pack",
    "goods": "Goods",
    "other": "Other",
    "contribution": "Contribution",
}
HEADINGS = {"units": "Units", **AMOUNT_HEADINGS, "margin": "Margin"}
# The same in fewer columns, for a terminal of 80.
NARROW_HEADINGS = {
    "units": "Units",
    "sales": "Sales",
    "carriage": "Carriage",
    "charges": "Charges",
    "goods": "Goods",
    "contribution": "Contribution",
    "margin": "Margin",
}
NARROW_READING = (
    "Costs are negative, so a line adds up to its contribution. Sales are after discounts "
    "and refunds; carriage is shipping charged to buyers less postage and packaging; "
    "charges are fees and all other costs; goods is the cost of what was sold. Margin is "
    "the contribution's share of sales and shipping. An unallocated sale stands here after "
    "its share of its order's fees and carriage. A terminal of 110 columns or the page "
    "that `offcut report` writes shows each by itself."
)
READING = (
    "Costs are negative, so a line adds up to its contribution. Sales are after discounts "
    "and refunds; shipping is what buyers were charged for it; post, pack is postage and "
    "packaging; goods is the cost of what was sold. Margin is the contribution's share of "
    "sales and shipping. An unallocated sale stands here after its share of its order's "
    "fees, shipping and postage."
)
ROUNDING = (
    "Each figure is rounded by itself, so a column may miss its total by one or two in "
    "the last digit; the sums behind them are exact."
)


def figure(figures: Figures, name: str, currency: str) -> str:
    """Return one figure as text.

    Args:
      figures: The figures of a line.
      name: A key of HEADINGS or NARROW_HEADINGS.
      currency: The currency of the amounts.
    """
    if name == "units":
        return pieces(figures.units)
    if name == "margin":
        return percentage(figures.margin)
    return money(getattr(figures, name), currency)


def rounding_shows(report: ProfitReport) -> bool:
    """Tell whether a printed column does not add up to its printed total.

    Args:
      report: The report.
    """
    lines = [line.figures for line in (*report.lines, *report.unallocated)]
    return any(
        sum((rounded(getattr(line, name), report.currency) for line in lines), ZERO)
        != rounded(getattr(report.total, name), report.currency)
        for name in AMOUNT_HEADINGS
    )
