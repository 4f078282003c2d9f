"""Write the profit reports as one HTML page that needs nothing beside it."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterator
from decimal import Decimal
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

import jinja2
from markupsafe import Markup

from offcut.reports import wording
from offcut.reports.charts import Bar, bar_chart, largest
from offcut.reports.figures import money, plain
from offcut.reports.period import long_date
from offcut.reports.profit import Figures, ProfitReport, ProfitReports

MINUS = "\N{MINUS SIGN}"


class PageRow(NamedTuple):
    """A line of a table in the page.

    Attributes:
      name: What the line is about.
      code: The product's commodity, shown small; empty where there is none.
      figures: Its figures.
      kind: "part" for a product below its design; else "line".
    """

    name: str
    code: str
    figures: Figures
    kind: str


class Chart(NamedTuple):
    """A drawing of a report.

    Attributes:
      drawing: An SVG element.
      drawn: How many of the report's lines are in it.
      has_losses: Whether any of them is a loss.
    """

    drawing: Markup
    drawn: int
    has_losses: bool


def write_page(reports: ProfitReports, target: Path) -> None:
    """Write the page whole or not at all.

    Args:
      reports: What to show.
      target: The file to write.

    Raises:
      OSError: The file cannot be written; what was there still is.
    """
    text = page(reports, datetime.date.today())
    target = target.resolve()
    half_done = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with half_done.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        half_done.replace(target)
    finally:
        half_done.unlink(missing_ok=True)


def page(reports: ProfitReports, made_on: datetime.date) -> str:
    """Return the page as text.

    Args:
      reports: What to show.
      made_on: The date to put under it.
    """
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("offcut.reports"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["figure"] = _figure
    environment.filters["money"] = _money
    environment.filters["plain"] = plain
    sections = list(reports.reports.values())
    return environment.get_template("profit.html").render(
        reports=reports,
        sections=sections,
        ties=list(dict.fromkeys(section.tie for section in sections)),
        rows=_rows,
        chart=_chart,
        wording=wording,
        rounding_shows=any(wording.rounding_shows(section) for section in sections),
        made_on=long_date(made_on),
        version=metadata.version("offcut"),
    )


def _rows(report: ProfitReport) -> Iterator[PageRow]:
    """Yield the lines of a report, products below their design."""
    for line in report.lines:
        yield PageRow(line.name, line.code, line.figures, "line")
        for part in line.parts:
            yield PageRow(part.name, part.code, part.figures, "part")


def _chart(report: ProfitReport) -> Chart:
    """Draw a report."""
    currency = report.currency
    bars = largest(
        [
            Bar(
                line.name,
                line.figures.income,
                line.figures.contribution,
                _money(line.figures.contribution, currency),
            )
            for line in report.lines
        ]
    )
    title = f"{wording.TITLES[report.grouping]}, bar chart"
    ends = [f"{plain(bar.name)} {money(bar.contribution, currency)}" for bar in bars]
    description = (
        f"Contribution in {plain(currency)} of {len(bars)} {report.grouping}s, over what "
        f"buyers paid: {'; '.join(ends)}."
    )
    return Chart(
        drawing=Markup(bar_chart(bars, title, description)),
        drawn=len(bars),
        has_losses=any(bar.contribution < 0 for bar in bars),
    )


def _figure(figures: Figures, name: str, currency: str) -> str:
    """Return a figure with a minus sign that screen readers say."""
    return wording.figure(figures, name, currency).replace("-", MINUS)


def _money(amount: Decimal, currency: str) -> str:
    """Return an amount with a minus sign that screen readers say."""
    return money(amount, currency).replace("-", MINUS)
