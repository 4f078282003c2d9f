"""Choose the columns of money in a file of payments or of a bank."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import permutations

from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.amounts import (
    ZERO,
    Figures,
    Relation,
    are_pair,
    find_relation,
    running_balance,
)
from offcut.importers.proposal.columns import best_named
from offcut.importers.proposal.draft import Choice, Draft, examples
from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.signs import take_balance
from offcut.importers.proposal.trade_words import HEADINGS, heading_score

Amounts = list[Decimal | None]

_PARTS = (
    ("tax-remitted", "tax that is kept back and paid over for you, not in the net"),
    ("tip", "a tip, a part of the gross"),
    ("tax", "sales tax that you owe, a part of the gross"),
    ("shipping", "charged for shipping, a part of the gross"),
)
_BALANCE = (("balance", "the balance after each row"),)
_CHARGE = "a charge is written so in the rows where money comes in"


def money_columns(draft: Draft, figures: Figures) -> list[Column]:
    """Return the columns that may be amounts of money."""
    other = ("quantity", "order", "id", "discount-rate")
    return [
        column
        for column in draft.left
        if column.at in figures
        and column.filled
        and "%" not in column.named
        and not any(heading_score(column.words, key) == 3 for key in other)
    ]


def take_amounts(
    draft: Draft, figures: Figures, currencies: Sequence[str]
) -> tuple[Amounts, Amounts]:
    """Choose gross, fee and net, or credit and debit, and the balance.

    Args:
      draft: The layout.
      figures: The numbers of columns.
      currencies: The currency of each row.

    Returns:
      What each row adds before its fee, and what moved: the net where that is nothing.

    Raises:
      ImportRefused: No column has amounts.
    """
    columns = money_columns(draft, figures)
    named = best_named(columns, "balance")
    columns = [each for each in columns if each not in named]
    given = (draft, columns, figures, named, currencies)
    if draft.table["kind"] == "bank":
        amounts = _take_pair(*given) or _take_single(draft, columns, figures)
        nets = amounts
    else:
        amounts = _take_pair(*given)
        nets = amounts
        relation = None if amounts else find_relation(columns, figures)
        if relation:
            _take_relation(draft, relation)
            amounts = figures[relation.gross.at]
            nets = figures[relation.net.at]
        elif not amounts:
            amounts = nets = _take_single(draft, columns, figures)
            nets = _take_fees(draft, columns, figures, amounts)
        _take_parts(draft, figures)
    if not amounts:
        message = "expected a column with an amount in every row, found none; export the "
        message += "file with its amounts"
        raise ImportRefused([Problem(draft.sample.name, None, None, message)])
    others = money_columns(draft, figures)
    take_balance(draft, named, others, figures, (nets or amounts, amounts), currencies)
    if draft.table["kind"] == "payments":
        ask_of_amounts(draft, figures, _PARTS)
    elif "balance" not in draft.table["columns"]:
        ask_of_amounts(draft, figures, _BALANCE)
    return amounts, [a or n for a, n in zip(amounts, nets or amounts, strict=True)]


def ask_of_amounts(
    draft: Draft, figures: Figures, meanings: Sequence[tuple[str, str]]
) -> None:
    """Ask about columns of amounts that neither arithmetic nor a heading explains.

    Args:
      draft: The layout.
      figures: The numbers of columns.
      meanings: The keys that such a column may have, and what they mean.
    """
    for column in money_columns(draft, figures):
        digits = all(value.isdigit() for value in column.values)
        if _is_named(column) or digits or not any(figures[column.at]):
            continue
        choices = [Choice("-", "leave it aside")]
        choices += [Choice(key, meaning) for key, meaning in meanings]
        question = f"What are the amounts in {column.header}, {examples(column)}?"
        answer = draft.ask(f"columns.{column.header}", question, choices)
        if answer != "-":
            draft.take(answer, column, "as answered")


def _is_named(column: Column) -> bool:
    """Return whether a heading says what a column is, more than "order" with a word."""
    keys = [key for key in HEADINGS if heading_score(column.words, key)]
    return bool(keys) and (keys != ["order"] or heading_score(column.words, "order") == 3)


def _take_pair(
    draft: Draft,
    columns: Sequence[Column],
    figures: Figures,
    balances: Sequence[Column],
    currencies: Sequence[str],
) -> Amounts:
    """Choose a column for money in and another for money out; [] where there are none.

    The headings say which is which, or the balance; else the user has to.
    """
    pairs = [
        (credit, debit)
        for credit, debit in permutations(columns, 2)
        if are_pair(figures[credit.at], figures[debit.at])
        and all((each or ZERO) >= 0 for each in figures[credit.at])
        and len({each > 0 for each in figures[debit.at] if each}) == 1
    ]
    pairs.sort(key=lambda pair: -_pair_score(*pair))
    if not pairs:
        return []
    credit, debit = pairs[0]
    why = "each row has an amount in one of the two columns"
    if _pair_score(credit, debit) < 4:
        proven = [
            pair
            for pair in pairs
            for balance in balances
            if running_balance(figures[balance.at], _difference(*pair, figures), currencies)
        ]
        if proven:
            (credit, debit), why = proven[0], f"{why}, and the balance follows them"
        else:
            question = "Which column has money that comes in?"
            chosen = draft.choose("credit", question, [credit, debit])
            if chosen is debit:
                credit, debit = debit, credit
            why = "as answered"
    draft.take("credit", credit, why)
    draft.take("debit", debit, why)
    if any((each or ZERO) < 0 for each in figures[debit.at]):
        draft.put("forms.debit", "negative", "money out is written so")
    return _difference(credit, debit, figures)


def _pair_score(credit: Column, debit: Column) -> int:
    """Return how well two headings name money in and money out."""
    return heading_score(credit.words, "credit") + heading_score(debit.words, "debit")


def _difference(credit: Column, debit: Column, figures: Figures) -> Amounts:
    rows = zip(figures[credit.at], figures[debit.at], strict=True)
    return [(c or ZERO) - abs(d or ZERO) for c, d in rows]


def _take_relation(draft: Draft, found: Relation) -> None:
    fees = " + ".join(column.header for column in found.fees)
    operator = "-" if found.sign > 0 else "+"
    rest = f" - {found.remitted.header}" if found.remitted else ""
    sums = f"{found.gross.header} {operator} {fees}{rest} = {found.net.header} in every row"
    draft.take("gross", found.gross, sums)
    for column in found.fees:
        draft.take("fee", column, sums)
    if found.remitted:
        draft.take("tax-remitted", found.remitted, sums)
    draft.take("net", found.net, sums)
    draft.put("forms.fee", "positive" if found.sign > 0 else "negative", sums)
    if not found.certain:
        draft.ask(
            "columns.gross",
            f"{sums}, but the figures do not say which is which. Is that right?",
            [Choice(found.gross.header, "yes, this is the amount before the fee")],
        )


def _take_single(draft: Draft, columns: Sequence[Column], figures: Figures) -> Amounts:
    """Choose the one column of amounts."""
    whole = [each for each in columns if each.full]
    found = best_named(whole, "gross") or best_named(whole, "net")
    if len(found) > 1 and all(
        figures[each.at] == figures[found[0].at] for each in found[1:]
    ):
        found = found[:1]
    if len(found) == 1:
        why = "its heading, and an amount in every row"
    elif whole:
        likely = found or whole
        if len(likely) == 1 and not draft.sample.has_header:
            found, why = likely, "the only amount in every row"
        else:
            question = "Which column has the amount before the fee?"
            column = draft.choose("gross", question, likely)
            found, why = [column or likely[0]], "as answered"
    else:
        return []
    is_net = heading_score(found[0].words, "net") > heading_score(found[0].words, "gross")
    draft.take("net" if is_net else "gross", found[0], why)
    return figures[found[0].at]


def _take_fees(
    draft: Draft, columns: Sequence[Column], figures: Figures, amounts: Amounts
) -> Amounts:
    """Choose fee columns beside a single amount, by their headings; return the nets."""
    fees = [
        each
        for each in columns
        if each in draft.left and heading_score(each.words, "fee") >= 2
    ]
    rows = list(zip(*(figures[each.at] for each in fees), strict=True))
    charged = [sum((each or ZERO for each in row), ZERO) for row in rows]
    incoming = [
        fee
        for fee, amount in zip(charged, amounts, strict=False)
        if fee and (amount or 0) > 0
    ]
    for column in fees:
        draft.take("fee", column, "its heading, and amounts in its cells")
    unexplained = [each for each in best_named(columns, "net") if each in draft.left]
    for column in unexplained:
        question = (
            f"The amounts in {column.header} are not the amount less the fee. Is it to be "
            "left aside?"
        )
        draft.ask("columns.net", question, [Choice("-", "yes, leave it aside")])
    if not fees:
        return amounts
    negative = sum(fee < 0 for fee in incoming)
    sign = -1 if negative > len(incoming) - negative else 1
    key = "forms.fee"
    if incoming and negative in (0, len(incoming)):
        draft.put(key, "negative" if sign < 0 else "positive", _CHARGE)
    elif any(charged):
        choices = [
            Choice("positive", "0.61 is a charge"),
            Choice("negative", "-0.61 is one"),
        ]
        answer = draft.ask(key, "How is a charge written?", choices[::sign])
        sign = -1 if answer == "negative" else 1
        draft.put(key, answer, "as answered")
    return [(a or ZERO) - sign * fee for a, fee in zip(amounts, charged, strict=True)]


def _take_parts(draft: Draft, figures: Figures) -> None:
    """Choose what is a part of the gross by its heading: tip, tax, shipping."""
    for key, meaning in _PARTS:
        columns = money_columns(draft, figures)
        for column in best_named(columns, key)[:1]:
            if key in ("tax", "shipping") and "order" in draft.table["columns"]:
                draft.roles[column.at] = ("", "the order's own lines say it")
            elif not any(figures[column.at]):
                draft.roles[column.at] = ("", "nothing but zeros")
            else:
                choices = [Choice("-", "leave it aside"), Choice(column.header, meaning)]
                question = f"What is {column.header}?"
                if draft.ask(f"columns.{key}", question, choices) != "-":
                    draft.take(key, column, "as answered")
