"""State how the books' net income leads to the profit for tax, step by step."""

from __future__ import annotations

from offcut.importers.splitting import ZERO
from offcut.reports.net_income import Tie
from offcut.reports.statement import Check, Line, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.tax_profit import NET_PROFIT
from offcut.reports.tax.year_end.pack import YearEnd


def reconciliation_statement(pack: YearEnd) -> Statement:
    """Return the statement of what lies between net income and the profit for tax.

    Args:
      pack: What the year leaves.
    """
    currency = pack.shop.currency
    by_itself = pack.net_income.get(currency, ZERO)
    steps = [
        Line(
            (
                f"{each.label}: {each.account}" if each.account else each.label,
                each.amount,
            ),
            code=each.account,
        )
        for each in pack.profit.steps
    ]
    title = "From net income to profit for tax"
    # From the net income that the accounts have, taken without any line of the form.
    profit = by_itself + sum((each.amount for each in pack.profit.steps), ZERO)
    lines = (
        Line(("Net income of the books", by_itself)),
        *steps,
        Line(("Profit for tax", profit), "total", sums=tuple(range(len(steps) + 1))),
    )
    tie = Tie(pack.form.get(NET_PROFIT, profit), profit, currency)
    if tie.holds:
        sentence = "The steps lead to the last line of the form, to the cent."
    else:
        sentence = (
            "THE STEPS DO NOT LEAD TO THE FORM: its last line is "
            f"{tie.report} {currency}, they come to {tie.ledger}. This is a fault in "
            "offcut: do not rely on these figures, and please report it."
        )
    return Statement(
        title=title,
        period=pack.shop.year.label,
        tables=(
            Table(
                title=title,
                columns=(
                    Column("Step", "text"),
                    Column("Amount", adds_up=True, is_result=True),
                ),
                lines=lines,
                slug="net-income-to-profit-for-tax",
                currency=currency,
            ),
        ),
        checks=(Check(sentence, tie.holds),),
        caution=CAUTION,
    )
