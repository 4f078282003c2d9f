"""State which account stands on which line of the form, and who says so."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.plugins.catalogue import account_component
from offcut.reports.statement import Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.tax_lines import line_of
from offcut.reports.tax.tax_profit import OnLine
from offcut.reports.tax.year_end.pack import YearEnd


def lines_statement(pack: YearEnd) -> Statement:
    """Return the statement of which account stands on which line.

    Args:
      pack: What the year leaves.
    """
    printed = {line.key: line.line for line in reversed(pack.shop.rules.form)}
    title = "Accounts and their lines"
    return Statement(
        title=title,
        period=pack.shop.year.label,
        tables=(
            Table(
                title=title,
                columns=(
                    Column("Account", "text"),
                    Column("Line", "text"),
                    Column("Key", "text", "wide"),
                    Column("Said by", "text", "wide"),
                    Column("Posted"),
                ),
                lines=tuple(
                    Line(
                        (
                            name,
                            printed.get(line_of(first.key), first.key or "no line"),
                            first.key,
                            _said_by(first),
                            posted,
                        )
                    )
                    for name, first, posted in _grouped(pack)
                ),
                slug="accounts-and-lines",
                currency=pack.shop.currency,
                empty="Nothing was posted to income or expenses in this year.",
            ),
        ),
        notes=(
            Note(
                'An account\'s line is said by tax-line: "..." below its open directive, '
                "for itself and the accounts below it; else it is the usual one of its "
                "name, which you can change in this way."
            ),
        ),
        caution=CAUTION,
    )


def _grouped(pack: YearEnd) -> Iterator[tuple[str, OnLine, Decimal]]:
    """Yield accounts with what was posted; those of single items as one."""
    items = {account_component(item) for item in pack.shop.books.catalogue}
    groups: dict[tuple[str, str, bool], list[OnLine]] = {}
    for each in pack.profit.accounts:
        above, _, last = each.account.rpartition(":")
        name = f"{above}: items" if last in items else each.account
        groups.setdefault((name, each.key, each.declared), []).append(each)
    for (name, _, _), several in groups.items():
        yield name, several[0], sum((each.posted for each in several), ZERO)


def _said_by(each: OnLine) -> str:
    if not each.key:
        return "nobody"
    return "the ledger" if each.declared else "its name"
