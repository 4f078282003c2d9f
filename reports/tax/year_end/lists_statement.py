"""State what an accountant goes through besides the form: lists, and what is open."""

from __future__ import annotations

from offcut.importers.splitting import ZERO
from offcut.reports.figures import money
from offcut.reports.statement import Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.year_end.checklist import checklist
from offcut.reports.tax.year_end.pack import YearEnd


def lists_statement(pack: YearEnd) -> Statement:
    """Return the statement of vehicles, equipment, contractors and missing receipts.

    Args:
      pack: What the year leaves.
    """
    return Statement(
        title="Lists behind the form",
        period=pack.shop.year.label,
        tables=(_mileage(pack), _equipment(pack), _contractors(pack), _unproved(pack)),
        notes=(
            Note(
                "A receipt is filed by a document directive that has a link of the "
                "transaction, or its day and account; or by document: on the transaction."
            ),
        ),
        caution=CAUTION,
    )


def checklist_statement(pack: YearEnd) -> Statement:
    """Return the list for the accountant.

    Args:
      pack: What the year leaves.
    """
    title = "For your accountant"
    return Statement(
        title=title,
        period=pack.shop.year.label,
        tables=(
            Table(
                title=title,
                columns=(Column("Point", "text"), Column("What to know", "prose")),
                lines=tuple(Line((each.title, each.text)) for each in checklist(pack)),
                slug="for-the-accountant",
            ),
        ),
        caution=CAUTION,
    )


def _mileage(pack: YearEnd) -> Table:
    """Return the vehicle's miles, and what is allowed for them."""
    car = pack.profit.car
    lines = [
        Line((vehicle or "Vehicle", miles, None, None))
        for vehicle, miles in sorted(car.miles.items())
    ]
    if lines:
        for stretch in car.stretches:
            lines.append(
                Line(("Allowed at this rate", stretch.miles, stretch.rate, stretch.amount))
            )
    return Table(
        title="Mileage allowance, by the log of trips",
        columns=(
            Column("Vehicle", "text"),
            Column("Miles", "units"),
            Column("Rate", "price"),
            Column("Amount"),
        ),
        lines=tuple(lines),
        slug="miles",
        currency=pack.shop.currency,
        empty='No trips are logged: custom "mileage" 84 "Where to and what for".',
    )


def _equipment(pack: YearEnd) -> Table:
    """Return the equipment, with what is deducted of it."""
    return Table(
        title="Equipment",
        columns=(
            Column("Equipment", "text"),
            Column("Bought", "date"),
            Column("Cost"),
            Column("Election", "text"),
            Column("Deducted"),
        ),
        lines=tuple(
            Line(
                (
                    each.text or each.account,
                    each.date,
                    each.cost,
                    f"spread, {each.years} y"
                    if each.election == "spread"
                    else each.election or "none yet",
                    amount,
                ),
                code=each.account,
            )
            for each, amount in pack.profit.equipment
        ),
        slug="equipment",
        currency=pack.shop.currency,
        empty="No equipment stands in accounts below Assets:Equipment.",
    )


def _contractors(pack: YearEnd) -> Table:
    """Return who was paid for work, and who from the limit on."""
    limit = pack.figure("contractor-limit")
    title = "Work on contract"
    if limit is not None:
        title += f"; reported from {money(limit, pack.shop.currency)} on"
    return Table(
        title=title,
        columns=(
            Column("Payee", "text"),
            Column("Payments", "units"),
            Column("Paid"),
            Column("Report", "text"),
        ),
        lines=tuple(
            Line(
                (
                    each.payee,
                    # A count, exact as a Decimal.
                    ZERO + each.payments,
                    each.paid,
                    "yes" if limit is not None and each.paid >= limit else "no",
                )
            )
            for each in pack.contractors
        ),
        slug="contractors",
        currency=pack.shop.currency,
        empty='Nobody: no account has tax-line: "contract-labor" and payments.',
    )


def _unproved(pack: YearEnd) -> Table:
    """Return the expenses that no receipt is filed for."""
    limit = pack.figure("receipt-limit")
    from_on = f", from {money(limit, pack.shop.currency)} on" if limit is not None else ""
    return Table(
        title=f"Expenses without a receipt{from_on}",
        columns=(
            Column("What for", "text"),
            Column("Day", "date"),
            Column("Account", "text", "wide"),
            Column("At", "text"),
            Column("Amount"),
        ),
        lines=tuple(
            Line((each.text, each.date, each.account, each.place, each.amount))
            for each in pack.unproved
        ),
        slug="receipts-missing",
        currency=pack.shop.currency,
        empty="None: each has a document, or is smaller.",
    )
