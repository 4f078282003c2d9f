"""State when to print each product again and how much, what runs out first first."""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Iterator
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.figures import money, pieces, plain
from offcut.reports.period import Period, long_date
from offcut.reports.plan.assumed import Assumed, Assumption, assumptions_table
from offcut.reports.plan.newest_costs import fine
from offcut.reports.plan.next_print_working import (
    price_breaks_table,
    reorder_points_table,
    sizes_table,
)
from offcut.reports.plan.next_prints import NextPrint, NextPrints, NextTerms, next_prints
from offcut.reports.plan.next_quantity import ONE_WEEK_ONLY
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Cell, Column

TITLE = "Next print"
READING = (
    "A week is what a product sold on average in its whole weeks, those without a sale "
    "among them, less what came back; weeks in which there was none left to sell count as "
    "weeks without a sale. Reorder at is the stock at which to print again: what is sold "
    "while you wait for new pieces, and a reserve for weeks that sell more."
)
NO_SIZE = (
    "What a run costs whatever its size is not known, so no size of a run is worked out: "
    "print now says what is missing to the reorder point, at the least. --hour 18 "
    "--setup-minutes 30, or --run-cost 9, say it; so does [plan] in offcut.toml."
)
SIZE = (
    "The size of a run is the economic order quantity: the root of twice the pieces of a "
    "year times what a run costs over what keeping a piece for a year costs, where setting "
    "up and keeping together cost least; rounded up to whole sheets. Print now is as many "
    "such runs as bring the stock above the reorder point."
)


def next_print_statement(
    books: Books,
    period: Period,
    currency: str,
    terms: NextTerms,
    products: Iterable[str] = (),
) -> Statement:
    """Return when to print each product again, and how much.

    Args:
      books: The ledger.
      period: The days whose sales are taken; see `next_prints`.
      currency: The currency of what runs and pieces cost.
      terms: What the plan rests on.
      products: Only these; all where it is empty.

    Raises:
      ValueError: A figure cannot be.
    """
    found = next_prints(books, period, currency, terms, products)
    every = [*found.due, *found.enough]
    sized = [each for each in every if each.plan.size and not each.sizes]
    tables = [
        _table("Print now", "next-print-now", found.due, "Nothing is due yet."),
        _table("Enough for now", "next-print-later", found.enough, "Nothing."),
        reorder_points_table(every),
    ]
    if sized:
        tables.append(sizes_table(sized, currency))
    tables += [price_breaks_table(each, currency) for each in every if each.sizes]
    tables.append(_assumptions(terms, currency))
    return Statement(
        title=TITLE,
        period=found.period.label,
        tables=tuple(tables),
        checks=(_check(found),),
        notes=tuple(Note(text) for text in _notes(found, every, terms, currency)),
    )


def _table(title: str, slug: str, prints: Iterable[NextPrint], empty: str) -> Table:
    """Return what there is of products, how long that lasts, and what to print."""
    return Table(
        title=title,
        columns=(
            Column("Product", "text"),
            Column("A week", "number"),
            Column("On hand", "units"),
            Column("Reorder at", "units"),
            Column("Weeks left", "number"),
            Column("Runs out", "date"),
            Column("Print now" if slug == "next-print-now" else "A run", "units"),
            Column("Sheets", "units"),
        ),
        lines=tuple(Line(_cells(each)) for each in prints),
        slug=slug,
        empty=empty,
    )


def _cells(each: NextPrint) -> tuple[Cell, ...]:
    plan = each.plan
    run = plan.now or plan.run
    return (
        each.product,
        fine(plan.sales.rate),
        plan.on_hand,
        plan.reorder.point,
        fine(plan.weeks_left),
        plan.runs_out,
        run.on_sheets if run else None,
        run.sheets if run and each.is_printed and not each.sizes else None,
    )


def _assumptions(terms: NextTerms, currency: str) -> Table:
    """Return what the plan rests on."""

    def share(what: str, of: Assumed) -> Assumption:
        return Assumption(what, (of.figure or ZERO) * 100, "%", of.source)

    lead, hour, setup = terms.lead_weeks, terms.hour, terms.setup_minutes
    rows = [
        Assumption("Weeks until new pieces are there", lead.figure, "weeks", lead.source),
        share("Times that nothing is missing", terms.service),
        share("Keeping for a year, of cost", terms.keeping),
    ]
    if terms.run_cost.figure is not None:
        run = terms.run_cost
        rows.append(Assumption("A run costs", run.figure, currency, run.source))
    else:
        rows.append(Assumption("An hour of yours", hour.figure, currency, hour.source))
        rows.append(Assumption("Setting up a run", setup.figure, "minutes", setup.source))
    return assumptions_table(rows, "next-print-assumptions")


def _check(found: NextPrints) -> Check:
    """Return the pieces held against the ledger's accounts."""
    holds = found.counted == found.booked
    assert found.period.last is not None
    day = long_date(found.period.last)
    if holds:
        return Check(
            f"On {day} the shelves hold {pieces(found.booked)} pieces of these products, "
            "those with shops among them, as the ledger's stock accounts do.",
            True,
        )
    return Check(
        f"THE SHELVES DO NOT AGREE: they hold {pieces(found.counted)} pieces on {day}, "
        f"the ledger's stock accounts {pieces(found.booked)}. This is a fault in offcut: "
        "do not rely on these figures, and please report it.",
        False,
    )


def _weeks(terms: NextTerms) -> str:
    weeks = terms.lead_weeks.figure or ZERO
    return f"{pieces(weeks)} week{'' if weeks == 1 else 's'}"


def _notes(
    found: NextPrints, every: list[NextPrint], terms: NextTerms, currency: str
) -> Iterator[str]:
    """Yield how to read the statement, and what is not in it."""
    if found.behind:
        ends = [f"{plain(channel)} on {long_date(day)}" for channel, day in found.behind]
        yield (
            f"Sales in the ledger end earlier on some channels: {', '.join(ends)}. Import "
            "what they sold since, or the rates are too low and the shelf too full."
        )
    if every:
        yield READING
        z = every[0].plan.reorder.z.quantize(Decimal("0.001"))
        yield (
            f"Meanwhile is what is sold in the lead time of {_weeks(terms)}; the reserve "
            f"is {z} times the spread of a week (its standard deviation) times the root of "
            "that time in weeks. Runs out is at this rate, from the last day on."
        )
    if terms.prices:
        yield (
            "With price breaks, each line of the quote is taken at its best size, and the "
            "line whose goods, ordering and keeping cost least in a year is the best."
        )
    elif terms.a_run is None:
        yield NO_SIZE
    elif every:
        yield SIZE
        tied = [each for each in found.due if each.plan.now and each.unit_cost]
        with decimal.localcontext(EXACT):
            amount = sum(
                (
                    each.plan.now.on_sheets * each.unit_cost
                    for each in tied
                    if each.plan.now and each.unit_cost
                ),
                ZERO,
            )
        yield f"What is to be printed now ties up {money(amount, currency)} {currency}."
    long_runs = [
        each.product
        for each in every
        if each.plan.size and each.plan.run
        if each.plan.run.on_sheets > each.plan.size.demand
    ]
    if long_runs:
        yield (
            "A run of these lasts longer than a year; print fewer of a design that may go "
            f"out of favour: {', '.join(long_runs)}."
        )
    ordered = [each.product for each in every if not each.is_printed]
    if ordered and not terms.prices:
        yield f"Without a bill of materials, so ordered: {', '.join(ordered)}."
    away = [f"{pieces(each.elsewhere)} {each.product}" for each in every if each.elsewhere]
    if away:
        yield f"With shops, and not on hand here: {', '.join(away)}."
    single = [each.product for each in every if each.plan.reorder.note == ONE_WEEK_ONLY]
    if single:
        yield f"{ONE_WEEK_ONLY}: {', '.join(single)}."
    by_reason: dict[str, list[str]] = {}
    for product, reason in found.left_out:
        by_reason.setdefault(reason, []).append(product)
    for reason, products in by_reason.items():
        yield f"Left out: {plain(', '.join(products))}. {reason}."
