"""State the year-end form, line by line as it is printed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from offcut.reports.figures import pieces
from offcut.reports.inventory_statement import tie_sentence
from offcut.reports.net_income import Tie
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.tax import CAUTION
from offcut.reports.tax.profit_for_tax import CAR
from offcut.reports.tax.rules import FormLine
from offcut.reports.tax.tax_lines import COST_OF_GOODS
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
    tables = [
        Table(
            title=part or title,
            columns=(Column("Caption", "text"), Column("Line", "text"), Column("Amount")),
            lines=tuple(_part_lines(lines, pack)),
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
        checks=tuple(_checks(pack)),
        notes=tuple(Note(f"Lines and captions: {each}.") for each in _sources(rules.form)),
        caution=CAUTION,
    )


def _part_lines(lines: list[FormLine], pack: YearEnd) -> Iterator[Line]:
    """Yield the lines of a part of the form, in its order; only what it leads to is bold.

    A page shows sums below all other lines, so those within a part are lines like others.
    """
    others = list(_others(pack)) if lines[0].key == OTHER_EXPENSES else []
    yield from others
    for line in lines:
        amount = pack.form[line.key]
        is_sum = bool(line.adds or line.takes)
        leads_to = line is lines[-1] and (len(lines) > 1 or bool(others))
        yield Line(
            (line.caption, line.line, amount if amount or is_sum else None),
            "total" if leads_to else "line",
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
