"""State what came in through each processor, and what sales tax went through the books."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.reports.figures import money
from offcut.reports.net_income import Tie
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.year_end.gross_receipts import (
    EARLIER,
    FEES,
    NOWHERE,
    OTHER,
    PAID_OUT,
    REFUNDS,
    SALES,
    SHIPPING,
    TAX,
    Received,
)
from offcut.reports.tax.year_end.pack import YearEnd

GROSS_COLUMNS = (SALES, SHIPPING, TAX, EARLIER)
NET_COLUMNS = (REFUNDS, FEES, OTHER, PAID_OUT)


def receipts_statement(pack: YearEnd) -> Statement:
    """Return the statement of gross receipts by account.

    Args:
      pack: What the year leaves.
    """
    title = "Gross receipts by processor"
    return Statement(
        title=title,
        period=pack.shop.year.label,
        tables=(
            _table(
                pack,
                "What buyers paid, gross",
                ("Sales", "Shipping", "Sales tax", "Timing"),
                GROSS_COLUMNS,
                "Gross",
                "gross-receipts",
            ),
            _table(
                pack,
                "What became of it",
                ("Refunds", "Fees", "Other", "Paid out"),
                NET_COLUMNS,
                "Change",
                "gross-receipts-spent",
            ),
        ),
        checks=tuple(_checks(pack)),
        notes=(
            Note(
                "Gross is what a processor's own yearly form reports: before fees and "
                "refunds, with shipping and sales tax. Compare it with that form, and "
                "look for what differs. Timing is payments for orders that were booked "
                "before or paid ahead; a receivable stands for what was not paid yet."
            ),
            Note(
                "A day's takings in several forms are split by what each took. What a "
                "marketplace keeps back as sales tax stands under Other."
            ),
        ),
        caution=CAUTION,
    )


def sales_tax_statement(pack: YearEnd) -> Statement:
    """Return the statement of sales tax, by place and by who pays it over.

    Args:
      pack: What the year leaves.
    """
    title = "Sales tax"
    lines = [
        Line(
            (
                each.account,
                each.opening,
                each.charged,
                each.given_back,
                each.by_others,
                each.paid,
                each.closing,
            )
        )
        for each in pack.sales_tax
    ]
    table = Table(
        title=title,
        columns=(
            Column("Account", "text"),
            Column("Before"),
            Column("Charged"),
            Column("Returned"),
            Column("Markets"),
            Column("Paid"),
            Column("Owed"),
        ),
        lines=tuple(lines),
        slug="sales-tax",
        currency=pack.shop.currency,
        empty="No sales tax stands in the books of this year.",
    )
    return Statement(
        title=title,
        period=pack.shop.year.label,
        tables=(table,),
        notes=(
            Note(
                "Sales tax that buyers owe is neither income nor an expense of the shop. "
                "Markets is what marketplaces kept back and pay over themselves; Owed is "
                "left for the shop to pay. An account for each place, "
                "Liabilities:SalesTax:PLACE, tells places apart."
            ),
        ),
        caution=CAUTION,
    )


def _table(
    pack: YearEnd,
    title: str,
    headings: tuple[str, ...],
    parts: tuple[str, ...],
    result: str,
    slug: str,
) -> Table:
    lines = [
        Line((_name(one), *(one.parts[part] for part in parts), _result(one, result)))
        for one in pack.received
    ]
    totals = [sum((one.parts[part] for one in pack.received), ZERO) for part in parts]
    whole = sum((_result(one, result) for one in pack.received), ZERO)
    if lines:
        lines.append(
            Line(("Total", *totals, whole), "total", sums=tuple(range(len(lines))))
        )
    return Table(
        title=title,
        columns=(
            Column("Account", "text"),
            *(Column(heading, adds_up=True) for heading in headings),
            Column(result, adds_up=True),
        ),
        lines=tuple(lines),
        slug=slug,
        currency=pack.shop.currency,
        empty="Nothing came in during this year.",
    )


def _name(one: Received) -> str:
    return "Without a payment" if one.account == NOWHERE else one.account


def _result(one: Received, result: str) -> Decimal:
    return one.gross if result == "Gross" else one.change


def _checks(pack: YearEnd) -> Iterator[Check]:
    """Yield whether what came in is what the form has as gross receipts."""
    if "gross-receipts" not in pack.form:
        return
    currency = pack.shop.currency
    sold = sum((one.parts[SALES] + one.parts[SHIPPING] for one in pack.received), ZERO)
    tie = Tie(sold, pack.form["gross-receipts"], currency)
    amount = f"{money(tie.ledger, currency)} {currency}"
    if tie.holds:
        sentence = (
            f"Sales and shipping of all accounts come to {amount}, the form's gross "
            "receipts."
        )
    else:
        sentence = (
            "THESE RECEIPTS DO NOT ADD UP: sales and shipping come to "
            f"{money(tie.report, currency)}, the form's gross receipts to {amount}. This "
            "is a fault in offcut: do not rely on these figures, and please report it."
        )
    yield Check(sentence, tie.holds)
