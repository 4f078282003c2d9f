"""Hold the months of a trend against the same days of the year before."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.reports.months import Month
from offcut.reports.statement_cells import Cell, Column, Kind
from offcut.reports.trend import Compared, Earned, TrendLine, TrendReport, together

YEAR = 12


class Measure(NamedTuple):
    """A figure that is followed.

    Attributes:
      name: Its name.
      is_money: Whether it is money, not pieces.
    """

    name: str
    is_money: bool

    def of(self, earned: Earned) -> Decimal:
        """Return it of what a month came to.

        Args:
          earned: What it came to.
        """
        figure: Decimal = getattr(earned, self.name)
        return figure


MEASURES = (
    Measure("sales", True),
    Measure("contribution", True),
    Measure("units", False),
)


class Versus(NamedTuple):
    """Months together, and those of them that can be compared.

    Attributes:
      earned: What all came to.
      comparable: What those came to that have a year before; None where none has.
      before: What their year before came to.
    """

    earned: Earned
    comparable: Earned | None
    before: Earned

    def change(self, measure: Measure) -> tuple[Decimal | None, Decimal | None]:
        """Return the change of a figure, and that as a share of a year before.

        Args:
          measure: The figure.
        """
        if self.comparable is None:
            return None, None
        change = Compared(self.comparable, self.before)
        found = getattr(change, measure.name)
        return found.by, found.share


class KnownTrend:
    """A report, its months that have anything to tell, and which have a year before.

    Attributes:
      report: The report.
      begin: The first day of the books.
      today: The day that the month in progress is known by.
      months: The months.
      known: Of each month, whether the year before is in the books.
    """

    def __init__(
        self, report: TrendReport, begin: datetime.date, today: datetime.date
    ) -> None:
        """Find out which months are told.

        Args:
          report: The report.
          begin: The first day of the books.
          today: The day that the month in progress is known by.
        """
        self.report, self.begin, self.today = report, begin, today
        total = report.total.months
        # A month to come has nothing to tell, but what is already booked for it.
        count = len(report.months)
        while count and report.months[count - 1].first > today:
            if any(total[count - 1].earned):
                break
            count -= 1
        self.months: tuple[Month, ...] = report.months[:count]
        self.known = [
            month.compared is not None
            and month.compared.last is not None
            and month.compared.last >= begin
            for month in self.months
        ]

    @property
    def last_year(self) -> tuple[int, ...]:
        """The positions of the last twelve months, or of all where they are fewer."""
        return tuple(range(len(self.months)))[-YEAR:]

    def versus(self, line: TrendLine, at: Sequence[int]) -> Versus:
        """Return months of a line together.

        Args:
          line: The line.
          at: The positions of the months.
        """
        known = [each for each in at if self.known[each]]
        return Versus(
            together(line.months[each].earned for each in at),
            together(line.months[each].earned for each in known) if known else None,
            together(line.months[each].last_year for each in known),
        )

    def days(self, month: Month) -> str:
        """Return which days of a month are meant, where not all are.

        Args:
          month: The month.
        """
        if month.first > self.today:
            return "to come"
        if month.partial and self.today < month.last:
            return "so far"
        return f"{month.first.day} to {month.last.day}" if month.partial else ""


def comparison() -> tuple[Column, ...]:
    """Return the columns of all figures, each with its change.

    On a narrow terminal the changes have shorter headings, and less is said.
    """
    columns: list[Column] = []
    for measure in MEASURES:
        name = measure.name.capitalize()
        unit: Kind = "money" if measure.is_money else "units"
        is_result = measure.name == "contribution"
        columns += [
            Column(name, unit, adds_up=True, is_result=is_result),
            Column(f"{name} the year before", unit, "wide"),
            Column(f"Change of {measure.name}", unit, "wide"),
            Column(f"Change of {measure.name}, %", "share", "wide"),
            Column("Change", unit, "narrow"),
        ]
        if measure.name == "sales":
            columns.append(Column("In %", "share", "narrow"))
    return tuple(columns)


def compared_cells(versus: Versus) -> tuple[Cell, ...]:
    """Return the cells of the columns of all figures.

    Args:
      versus: What months came to.
    """
    cells: list[Cell] = []
    for measure in MEASURES:
        by, share = versus.change(measure)
        before = None if versus.comparable is None else measure.of(versus.before)
        cells += [measure.of(versus.earned), before, by, share, by]
        if measure.name == "sales":
            cells.append(share)
    return tuple(cells)
