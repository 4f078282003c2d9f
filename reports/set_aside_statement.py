"""State how much to set aside for the tax office, and when to pay what."""

from __future__ import annotations

from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.figures import percentage
from offcut.reports.period import long_date
from offcut.reports.set_aside_notes import set_aside_notes
from offcut.reports.statement import Check, Headline, Line, Statement, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.instalments import Stand
from offcut.reports.tax.set_aside import SetAside
from offcut.reports.tax.year_tax import YearTax

WAYS = {
    "year-to-date": "By its days so far",
    "last-year": "By last year's season",
    "actual": "As it was",
}


def set_aside_statement(
    set_aside: SetAside, entry: str, checks: tuple[Check, ...], notes: tuple[str, ...]
) -> Statement:
    """Return the statement of what to set aside and to pay.

    Args:
      set_aside: What is the tax office's on a day.
      entry: The entry that moves the money to the reserve; empty for none.
      checks: What the figures were held against.
      notes: What else to say, the ledger's other currencies and the like.
    """
    year = set_aside.year
    tables = [_to_do(set_aside)]
    if entry:
        tables.append(_entry(entry, year))
    tables.append(_owed(set_aside))
    if year.projection.way != "actual":
        tables.append(_foreseen(year))
    tables += [_instalments(set_aside), _paid(set_aside)]
    return Statement(
        title=f"Set aside for tax in {year.rules.year}",
        period=f"on {long_date(set_aside.today)}",
        tables=tuple(tables),
        headlines=(
            Headline("The tax office's today", set_aside.owed),
            Headline("Pay next", _next(set_aside)[0]),
            Headline("Move to the reserve now", set_aside.short_by),
        ),
        checks=checks,
        notes=tuple(set_aside_notes(set_aside, notes)),
        caution=CAUTION,
    )


def _to_do(set_aside: SetAside) -> Table:
    """Return the table to begin with: what to move and to pay, and when."""
    when = "nothing is missing there"
    if set_aside.short_by:
        when = "today" if set_aside.settings.reserve else "no reserve account is set"
    lines = [Line(("Move to the reserve", set_aside.short_by, when))]
    overdue = set_aside.overdue
    if overdue:
        named, stand = overdue[-1]
        since = f"was due {long_date(stand.part.due)}{_of(named, set_aside)}"
        amount = sum((last.open for last in _last_of_years(overdue)), ZERO)
        lines.append(Line(("Overdue to the tax office", amount, since)))
    amount, when = _next(set_aside)
    lines.append(Line(("Next payment to the tax office", amount, when)))
    for year, day, owed in set_aside.with_returns:
        was = "was due " if day < set_aside.today else ""
        lines.append(Line((f"With the return of {year}", owed, f"{was}{long_date(day)}")))
    return Table(
        title="What to do",
        columns=(Column("What", "text"), Column("Amount"), Column("When", "text")),
        lines=tuple(lines),
        slug="set-aside",
        currency=set_aside.year.rules.currency,
    )


def _last_of_years(stands: list[tuple[str, Stand]]) -> list[Stand]:
    """Return the last of each year, whose open amount includes those before it."""
    return list(dict(stands).values())


def _next(set_aside: SetAside) -> tuple[Decimal, str]:
    """Return the next payment without what is overdue, and when it is due.

    One day may be the due day of both years in question.
    """
    late = {year: stand.open for year, stand in set_aside.overdue}
    coming = [
        (stand.part.due, year, EXACT.subtract(stand.open, late.get(year, ZERO)))
        for year, stand in set_aside.stands
        if stand.state == "next"
    ]
    coming = [each for each in coming if each[2] > ZERO]
    if coming:
        day = min(due for due, _, _ in coming)
        amounts = {year: amount for due, year, amount in coming if due == day}
        of = _of(" and ".join(amounts), set_aside)
        return sum(amounts.values(), ZERO), f"{long_date(day)}{of}"
    if not set_aside.stands:
        return ZERO, "none in the course of the year"
    last = max(each.part.due for _, each in set_aside.stands)
    if last >= set_aside.today:
        return ZERO, f"nothing up to {long_date(last)}"
    return ZERO, "none is left of this year"


def _of(year: str, set_aside: SetAside) -> str:
    """Return which year a payment is for, where two are in question."""
    return f", for {year}" if set_aside.earlier is not None else ""


def _entry(entry: str, year: YearTax) -> Table:
    return Table(
        title="To be added to the ledger when the money is moved",
        columns=(Column("Entry", "text"), Column("Text", "verbatim")),
        lines=(Line(("Nothing is written for you: copy it", entry.rstrip("\n"))),),
        slug="set-aside-entry",
        currency=year.rules.currency,
    )


def _owed(set_aside: SetAside) -> Table:
    """Return how it comes about: what of the money is the tax office's."""
    year = set_aside.year
    projection = year.projection
    is_over = projection.way == "actual"
    profit = f"Profit up to {long_date(projection.until)}"
    lines = [Line((profit if not is_over else "Profit of the year", projection.to_date))]
    if not is_over:
        lines.append(Line(("Profit of the year, as foreseen", projection.profit)))
    lines.append(Line(("Tax of the year on that", year.tax["total-tax"])))
    if year.withheld:
        lines.append(Line(("Withheld from your other income", -year.withheld)))
    lines += [Line((each.schedule.name, each.tax)) for each in year.local]
    lines.append(Line(("Left to pay for the year", year.left)))
    if not is_over:
        share = percentage(year.earned_share)
        lines.append(Line((f"Of it on what is earned so far, {share}", year.accrued)))
    lines.append(Line((f"Paid so far for {year.rules.year}", -year.paid)))
    if set_aside.earlier is not None:
        before = set_aside.earlier
        lines.append(Line((f"Not yet paid for {before.rules.year}", before.owed)))
    lines.append(Line(("The tax office's today", set_aside.owed)))
    lines.append(Line(("In the reserve", -set_aside.reserve)))
    lines.append(Line(("To move to the reserve", set_aside.short_by), "total"))
    return Table(
        title="How much of your money is the tax office's",
        columns=(Column("What", "text"), Column("Amount")),
        lines=tuple(lines),
        slug="tax-office-share",
        currency=year.rules.currency,
    )


def _foreseen(year: YearTax) -> Table:
    """Return what the year may come to, each way."""
    projection = year.projection
    lines = []
    for way, profit, tax in year.foreseen:
        counts = "this counts" if way == projection.way else ""
        lines.append(Line((WAYS[way], profit, tax, counts)))
    return Table(
        title="What the year may come to",
        columns=(
            Column("How it is foreseen", "text"),
            Column("Profit"),
            Column("Tax on it"),
            Column("", "text"),
        ),
        lines=tuple(lines),
        slug="year-foreseen",
        currency=year.rules.currency,
    )


def _instalments(set_aside: SetAside) -> Table:
    """Return the payments in the course of the year, and how each stands."""
    year = set_aside.year
    several = set_aside.earlier is not None
    lines = []
    for named, stand in set_aside.stands:
        label = f"{named}: {stand.part.label}" if several else stand.part.label
        is_open = stand.part.due >= set_aside.today
        cells: tuple[Cell, ...] = (
            *(label, stand.part.due, stand.part.required, stand.required),
            *(stand.paid, stand.open if is_open else stand.short_by, stand.state),
        )
        lines.append(Line(cells))
    return Table(
        title="Payments in the course of the year, added up from the first",
        columns=(
            Column("Payment", "text"),
            Column("Due", "date"),
            Column("This one", shown="wide"),
            Column("To pay by then"),
            Column("Paid by then"),
            Column("Short by"),
            Column("State", "text"),
        ),
        lines=tuple(lines),
        slug="tax-instalments",
        currency=year.rules.currency,
        empty="Nothing has to be paid in the course of the year.",
    )


def _paid(set_aside: SetAside) -> Table:
    """Return the payments that count, one by one."""
    lines = []
    for year in (set_aside.earlier, set_aside.year):
        for each in year.payments if year else ():
            named = "says tax-year" if each.year else "by its day"
            what = f"{each.local}: {each.text}" if each.local else each.text
            assert year
            lines.append(Line((what, each.date, each.amount, year.rules.year, named)))
    total = sum((each.paid for each in set_aside.years), ZERO)
    if lines:
        every = tuple(range(len(lines)))
        lines.append(Line(("Paid so far", None, total, None, None), "total", sums=every))
    return Table(
        title="Paid to the tax office",
        columns=(
            Column("What", "text"),
            Column("Day", "date"),
            Column("Amount", adds_up=True),
            Column("For", "text"),
            Column("How it is known", "text"),
        ),
        lines=tuple(lines),
        slug="tax-paid",
        currency=set_aside.year.rules.currency,
        empty="No payment counts for this year.",
    )
