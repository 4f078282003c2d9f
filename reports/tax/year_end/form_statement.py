"""State the year-end form, and how the books' net income leads to its last line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.plugins.catalogue import account_component
from offcut.reports.figures import pieces
from offcut.reports.inventory_statement import tie_sentence
from offcut.reports.net_income import Tie
from offcut.reports.statement import (
    Check,
    Column,
    Headline,
    Line,
    Note,
    Role,
    Statement,
    Table,
)
from offcut.reports.tax import CAUTION
from offcut.reports.tax.profit_for_tax import CAR, NET_PROFIT, OnLine
from offcut.reports.tax.rules import FormLine
from offcut.reports.tax.tax_lines import COST_OF_GOODS, line_of
from offcut.reports.tax.year_end.pack import YearEnd

ASKED = "yours to answer"
OTHER_EXPENSES = "other-expenses"
VEHICLE = frozenset(
    {
        *("vehicle-date", "business-miles", "commuting-miles", "other-miles"),
        *("vehicle-personal-use", "vehicle-other"),
        *("vehicle-evidence", "vehicle-written-evidence"),
    }
)
NO_FORM = "The rules have no form."


def form_statement(pack: YearEnd) -> Statement:
    """Return the statement of the form.

    Args:
      pack: What the year leaves.
    """
    rules, currency = pack.shop.rules, pack.shop.currency
    title = f"Year-end form: {rules.form_title or rules.title}"
    answered = _answers(pack)
    amounts = {line.key for line in rules.form if line.side or line.adds or line.takes} | {
        *pack.stock.lines,
        COST_OF_GOODS,
    }
    parts: dict[str, list[FormLine]] = {}
    asked: list[FormLine] = []
    for line in rules.form:
        # Nobody is asked about a vehicle that is not deducted.
        if line.key in VEHICLE and not pack.form.get(CAR):
            continue
        (parts.setdefault(line.part, []) if line.key in amounts else asked).append(line)
    others = list(_others(pack))
    tables = [
        Table(
            title=part or title,
            columns=(Column("Caption", "text"), Column("Line", "text"), Column("Amount")),
            lines=(
                *(others if _only(lines, OTHER_EXPENSES) else ()),
                *(_form_line(line, pack) for line in lines),
            ),
            slug=f"form-{at}",
            currency=currency,
        )
        for at, (part, lines) in enumerate(parts.items(), 1)
    ]
    if not rules.form:
        tables = [
            Table(title, (Column("Caption", "text"),), (), "form-1", currency, NO_FORM)
        ]
    if asked:
        tables.append(
            Table(
                title="Lines that are no amounts",
                columns=(
                    Column("Caption", "text"),
                    Column("Line", "text"),
                    Column("Answer", "text"),
                ),
                lines=tuple(
                    Line((each.caption, each.line, answered.get(each.key) or ASKED))
                    for each in asked
                ),
                slug="form-answers",
            )
        )
    return Statement(
        title=title,
        period=pack.shop.year.label,
        tables=tuple(tables),
        headlines=(Headline("Profit for tax", pack.profit.profit),),
        checks=tuple(_checks(pack)),
        notes=tuple(Note(f"Lines and captions: {each}.") for each in _sources(rules.form)),
        caution=CAUTION,
    )


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


def _form_line(line: FormLine, pack: YearEnd) -> Line:
    amount = pack.form[line.key]
    is_sum = bool(line.adds or line.takes)
    role: Role = "subtotal" if is_sum or line.part == _part_of_others(pack) else "line"
    return Line(
        (line.caption, line.line, amount if amount or is_sum else None),
        "total" if line.key == NET_PROFIT else role,
    )


def _only(lines: list[FormLine], key: str) -> bool:
    """Tell whether a part of the form has one line alone, of a key."""
    return [line.key for line in lines] == [key]


def _part_of_others(pack: YearEnd) -> str:
    """Return the part of the form that is of other expenses alone; empty for none."""
    parts: dict[str, set[str]] = {}
    for line in pack.shop.rules.form:
        parts.setdefault(line.part, set()).add(line.key)
    return next(
        (part for part, keys in parts.items() if part and keys == {OTHER_EXPENSES}), ""
    )


def _others(pack: YearEnd) -> Iterator[Line]:
    """Yield the accounts on the line of other expenses."""
    if OTHER_EXPENSES not in pack.form:
        return
    for each in pack.profit.accounts:
        if each.key == OTHER_EXPENSES:
            amount = -each.posted if each.is_income else each.posted
            yield Line((each.account, "", amount))


def _answers(pack: YearEnd) -> dict[str, str]:
    """Return what stands on the lines that are no amounts, as far as it is known."""
    mileage = pack.shop.claims.mileage
    answers = {
        "valuation-method": "a cost (as the books have it)",
        "business-miles": pieces(pack.profit.car.total_miles),
    }
    if mileage.commuting is not None:
        answers["commuting-miles"] = pieces(mileage.commuting)
    if mileage.other is not None:
        answers["other-miles"] = pieces(mileage.other)
    if mileage.placed_in_service is not None:
        answers["vehicle-date"] = mileage.placed_in_service.isoformat()
    if pack.profit.car.miles:
        answers["vehicle-evidence"] = answers["vehicle-written-evidence"] = (
            "yes: the log of trips"
        )
    return answers


def _checks(pack: YearEnd) -> Iterator[Check]:
    currency = pack.shop.currency
    if pack.roll.items:
        yield Check(tie_sentence(pack.roll), pack.roll.ties)
    if COST_OF_GOODS in pack.form:
        cost = Tie(pack.stock.cost_of_goods, pack.form[COST_OF_GOODS], currency)
        if cost.holds:
            sentence = (
                "Cost of goods sold from stock to stock is what its accounts come to, "
                "packing left out."
            )
        else:
            sentence = (
                "COST OF GOODS SOLD DOES NOT TIE: from stock to stock it is "
                f"{cost.report} {currency}, by its accounts {cost.ledger}. This is a "
                "fault in offcut: do not rely on these figures, and please report it."
            )
        yield Check(sentence, cost.holds)


def _sources(form: Iterable[FormLine]) -> list[str]:
    return list(dict.fromkeys(each.source.rstrip(".") for each in form if each.source))
