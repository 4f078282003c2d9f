"""State every design before and after a change, and where the difference comes from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.reports.books import Books
from offcut.reports.figures import money
from offcut.reports.net_income import Tie, net_income
from offcut.reports.period import Period
from offcut.reports.plan.changes_given import Changed, Given, changes_given
from offcut.reports.plan.costs_now import costs_now
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.what_if import Design, WhatIf, what_if
from offcut.reports.profit import in_period
from offcut.reports.statement import Check, Headline, Line, Note, Statement, Table
from offcut.reports.statement_cells import Cell, Column

TITLE = "What if"
PARTS = {
    "sales": "Sales",
    "shipping": "Shipping charged",
    "fees": "Fees",
    "postage": "Postage",
    "packaging": "Packaging",
    "goods": "Cost of goods",
    "other": "Other",
}
READING = (
    "The pieces are those that were sold on these days: how many more or fewer people "
    "would buy at another price, nothing here guesses. Before and after are the "
    "contribution: sales and shipping less fees, postage, packing and cost of goods. Each "
    "is that of one piece."
)
PRICES = (
    "A new price changes all sales of the product by its share of the list price, "
    "reduced and wholesale ones too, and the fees of these sales with them."
)
MATERIALS = (
    "A dearer material changes the cost of goods by the material's share in the bill of "
    "each product."
)


def what_if_statement(
    books: Books, period: Period, currency: str, given: Given
) -> Statement:
    """Return every design before and after a change.

    Args:
      books: The ledger.
      period: The days whose sales are taken.
      currency: The currency to report in.
      given: What would be otherwise.

    Raises:
      ValueError: A change cannot be; see `changes_given` and `what_if`.
    """
    pieces, costs = {}, {}
    if given.materials:
        pieces = costs_now(books, period.last, "bill").pieces
        costs = newest_lot_costs(books.entries, books.options, period.last)
    changes, shown = changes_given(given, books.catalogue, costs, currency)
    plan = what_if(in_period(books.table, period), currency, changes, pieces)
    ledger = net_income(books.entries, books.options, period).get(currency, ZERO)
    return plan_statement(plan, period, shown, ledger)


def plan_statement(
    plan: WhatIf, period: Period, shown: Iterable[Changed], ledger: Decimal
) -> Statement:
    """Return the statement of a plan.

    Args:
      plan: The plan.
      period: Its days.
      shown: What each figure becomes.
      ledger: The ledger's net income on these days, to hold it against.
    """
    total = plan.total
    return Statement(
        title=TITLE,
        period=period.label,
        tables=(_changes(shown, plan.currency), _designs(plan), _parts(plan)),
        headlines=(
            Headline("Net income as it was", total.before.contribution),
            Headline("As it would be", total.after.contribution),
            Headline("Change", total.difference),
        ),
        checks=tuple(_checks(plan, ledger)),
        notes=tuple(Note(text) for text in _notes(plan)),
    )


def _changes(shown: Iterable[Changed], currency: str) -> Table:
    """Return what each figure becomes."""
    return Table(
        title="What changes",
        columns=(
            Column("Figure", "text"),
            Column("Before", "price"),
            Column("After", "price"),
            Column("By", "text"),
        ),
        lines=tuple(
            Line((each.what, each.before, each.after if each.by else None, _by(each)))
            for each in shown
        ),
        slug="what-if-changes",
        currency=currency,
        empty="Nothing.",
    )


def _by(changed: Changed) -> str:
    """Return by how much a figure changes: `+12.5%`, `+0.20`."""
    if changed.by is None:
        return f"{changed.after or ZERO:+f}"
    percent = (changed.by * 100).quantize(Decimal("0.01"))
    return f"{percent.normalize() + ZERO:+f}%"


def _designs(plan: WhatIf) -> Table:
    """Return every design before and after."""
    lines = [Line(_cells(each.name, each)) for each in plan.designs]
    count = len(lines)
    summed = tuple(range(count))
    if any(plan.unallocated.before) or any(plan.unallocated.after):
        lines.append(Line(_cells("Unallocated", plan.unallocated), "subtotal"))
        summed = (*summed, count)
    if lines:
        lines.append(Line(_cells("Total", plan.total), "total", sums=summed))
    return Table(
        title="Every design, before and after",
        columns=(
            Column("Design", "text"),
            Column("Units", "units", adds_up=True),
            Column("Before", adds_up=True, is_result=True),
            Column("After", adds_up=True, is_result=True),
            Column("Change", adds_up=True, is_result=True),
            Column("Each", is_result=True),
            Column("Each after", is_result=True),
            Column("Margin", "share", shown="wide"),
            Column("Margin after", "share", shown="wide"),
        ),
        lines=tuple(lines),
        slug="what-if-designs",
        currency=plan.currency,
        empty="Nothing was sold in this currency on these days.",
    )


def _cells(name: str, design: Design) -> tuple[Cell, ...]:
    before, after = design.before, design.after
    return (
        name,
        before.units,
        before.contribution,
        after.contribution,
        design.difference,
        *(before.each, after.each, before.margin, after.margin),
    )


def _parts(plan: WhatIf) -> Table:
    """Return the difference by what it is a difference of."""
    before, after = plan.total.before, plan.total.after
    lines = [
        Line((name, old, new, new - old))
        for key, name in PARTS.items()
        if (old := getattr(before, key)) or getattr(after, key)
        for new in (getattr(after, key),)
    ]
    whole = ("Net income", before.contribution, after.contribution, plan.total.difference)
    if lines:
        lines.append(Line(whole, "total", sums=tuple(range(len(lines)))))
    return Table(
        title="Where the change comes from",
        columns=(
            Column("Of all designs and the rest", "text"),
            Column("Before", adds_up=True),
            Column("After", adds_up=True),
            Column("Change", adds_up=True, is_result=True),
        ),
        lines=tuple(lines),
        slug="what-if-parts",
        currency=plan.currency,
    )


def _checks(plan: WhatIf, ledger: Decimal) -> Iterator[Check]:
    """Yield the plan held against the ledger, and against itself."""
    tie = Tie(plan.total.before.contribution, ledger, plan.currency)
    yield Check(f"Before: {tie.sentence}", tie.holds)
    parts = sum((each.difference for each in plan.designs), plan.unallocated.difference)
    holds = parts == plan.total.difference
    amount = f"{money(plan.total.difference, plan.currency)} {plan.currency}".strip()
    yield Check(
        f"After: the changes of all lines add up to {amount}, the change of the whole."
        if holds
        else f"THE CHANGES DO NOT ADD UP to {amount}. This is a fault in offcut: do not "
        "rely on these figures, and please report it.",
        holds,
    )


def _notes(plan: WhatIf) -> Iterator[str]:
    """Yield how to read the statement."""
    changes = plan.changes
    yield READING
    if changes.price or changes.prices:
        yield PRICES
    if changes.materials:
        yield MATERIALS
    if changes.postage:
        yield (
            f"{plan.parcels:,} parcels were posted: the orders that postage was booked "
            "for. Postage of no order stays as it is."
        )
    if plan.without_bill:
        without = ", ".join(plan.without_bill)
        yield f"No bill says what is in these, so their cost stays: {without}."
