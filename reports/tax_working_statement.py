"""State how a year's tax is worked out, line by line, and what is not known of it."""

from __future__ import annotations

from collections.abc import Iterator

from offcut.reports.period import long_date
from offcut.reports.statement import Line, Note, Role, Statement, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.working import Working
from offcut.reports.tax.year_tax import YearTax

# What stands for the figure that only the maker has: none of ours, lest it be copied.
FIGURES = {"money": "AMOUNT", "count": "NUMBER", "share": "SHARE"}


def tax_working_statement(year: YearTax) -> Statement:
    """Return the statement of how a year's tax is worked out.

    Args:
      year: The tax of the year.
    """
    return Statement(
        title=f"How the tax of {year.rules.year} is worked out",
        period=year.rules.title,
        tables=tuple(_tables(year)),
        notes=tuple(_notes(year)),
        caution=CAUTION,
    )


def _tables(year: YearTax) -> Iterator[Table]:
    yield _working(year, year.tax, "Tax of the year", f"tax-working-{year.rules.year}")
    if list(year.required):
        title = "What must be paid in the course of the year"
        yield _working(year, year.required, title, f"tax-required-{year.rules.year}")
    if any(stand.part.annualised for stand in year.stands):
        yield _annualised(year)
    if year.local:
        yield _local(year)
    yield _unanswered(year)


def _working(year: YearTax, working: Working, title: str, slug: str) -> Table:
    """Return a working as a table; its last line is what it leads to."""
    lines = []
    last = working.lines[-1]
    for each in working:
        if each.is_share:
            cells: tuple[Cell, ...] = (each.label, each.where, f"{each.amount:f}")
        else:
            cells = (each.label, each.where, each.amount)
        role: Role = "total" if each is last else "line"
        lines.append(Line(cells, role))
    return Table(
        title=title,
        columns=(Column("Line", "text"), Column("Form", "text"), Column("Amount")),
        lines=tuple(lines),
        slug=slug,
        currency=year.rules.currency,
    )


def _annualised(year: YearTax) -> Table:
    """Return the workings on the annualised profits, a column for each payment."""
    told = [
        (stand.part, stand.part.annualised)
        for stand in year.stands
        if stand.part.annualised is not None
    ]
    labels = {line.key: line.label for _, working in told for line in working}
    lines = [
        Line((label, *(working.get(key) for _, working in told)))
        for key, label in labels.items()
    ]
    required = (part.required for part, _ in told)
    lines.append(Line(("Required by this payment", *required), "total"))
    return Table(
        title="Each period's income made into a year's",
        columns=(
            Column("Line", "text"),
            *(Column(part.label or part.due.isoformat()) for part, _ in told),
        ),
        lines=tuple(lines),
        slug=f"tax-annualised-{year.rules.year}",
        currency=year.rules.currency,
        in_bands=True,
    )


def _local(year: YearTax) -> Table:
    """Return the taxes of the maker's own place."""
    return Table(
        title="Taxes of your own place",
        columns=(
            Column("Tax", "text"),
            Column("Of", "text"),
            Column("Base"),
            Column("Tax"),
            Column("Source", "text", shown="wide"),
        ),
        lines=tuple(
            Line(
                (
                    each.schedule.name,
                    "taxable income" if each.schedule.base == "income" else "profit",
                    each.base,
                    each.tax,
                    each.schedule.source or "none given",
                )
            )
            for each in year.local
        ),
        slug=f"tax-local-{year.rules.year}",
        currency=year.rules.currency,
    )


def _unanswered(year: YearTax) -> Table:
    """Return what the books cannot know, with the line to write."""
    return Table(
        title=(
            "Not answered, so not counted: write it in offcut.toml, under "
            f"[tax.years.{year.rules.year}], or under [tax] for every year"
        ),
        columns=(Column("Line to write", "text"), Column("Question", "prose")),
        lines=tuple(
            Line((f"{fact.key} = {FIGURES[fact.kind]}", fact.question))
            for fact in year.household.unanswered(year.facts)
        ),
        slug=f"tax-unanswered-{year.rules.year}",
        empty="Every question is answered.",
    )


def _notes(year: YearTax) -> Iterator[Note]:
    """Yield what the workings do not know, and what is not read in its source."""
    status = year.household.status
    yield Note(
        f"Rules: {year.rules.title}, {year.rules.year}, {long_date(year.rules.first)} to "
        f"{long_date(year.rules.last)}; a business year that ends on another day is not "
        f"supported. Status: {status}. Where each figure stands is written beside it in "
        f"{year.rules.path}."
    )
    for text in year.tax.notes:
        yield Note(text)
    for text in year.required.notes:
        yield Note(f"Payments of {year.rules.year}: {text}")
    if any(stand.part.annualised for stand in year.stands):
        yield Note(
            "Other income and deductions are taken to come evenly over the year, and the "
            "profit of periods that are not over as the year is foreseen."
        )
    if year.rules.remembered:
        yield Note(
            "From memory, not read in its source, and to be confirmed: "
            f"{', '.join(year.rules.remembered)}."
        )
