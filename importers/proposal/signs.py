"""Doubt the signs of amounts where a balance or a word beside them says otherwise.

A layout takes the sign of an amount from the amount, or from the column that it is in.
A file that says it by the balance alone, or by a word, is one that no layout can read.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.proposal.amounts import Figures, running_balance, sizes_follow
from offcut.importers.proposal.columns import best_named
from offcut.importers.proposal.draft import Choice, Doubt, Draft
from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.plain_words import plain_words
from offcut.importers.proposal.trade_words import HEADINGS

_INWARD = HEADINGS["credit"] | {"c", "cr", "h", "incoming", "plus"}
_OUTWARD = HEADINGS["debit"] | {"d", "dr", "db", "s", "outgoing", "minus"}
_SHORT = 12
# So many rows are no accident where no heading says that a column is a balance.
_TELLING = 4
_EXPORT = "export the file with signed amounts, or with money in and money out each in a "
_EXPORT += "column of its own"


def take_balance(
    draft: Draft,
    named: Sequence[Column],
    others: Sequence[Column],
    figures: Figures,
    amounts: Sequence[Sequence[Decimal | None]],
    currencies: Sequence[str],
) -> None:
    """Choose the column of the running balance: arithmetic proves it, or it is doubted.

    A balance that contradicts the amounts stays in the layout, so that the import refuses
    the file rather than book it with wrong signs.

    Args:
      draft: The layout.
      named: The columns whose heading is that of a balance.
      others: Other columns of money.
      figures: The numbers of columns.
      amounts: What each row may add to the balance: the nets, the grosses.
      currencies: The currency of each row.
    """
    named = [each for each in named if each.at not in draft.roles]
    others = [each for each in others if each.at not in draft.roles and each not in named]
    for column in (*named, *others):
        if any(running_balance(figures[column.at], each, currencies) for each in amounts):
            draft.take("balance", column, "each row adds its amount to the balance before")
            return
    telling = [each for each in others if len(each.cells) >= _TELLING]
    for column in (*named, *telling):
        if any(sizes_follow(figures[column.at], each, currencies) for each in amounts):
            draft.take("balance", column, "its steps are of the size of the amounts")
            question = _against(column) if _is_pair(draft) else _only(column)
            draft.doubts.append(Doubt("columns.balance", question, ()))
            return
    _ask_of_balance(draft, named)


def _is_pair(draft: Draft) -> bool:
    return "credit" in draft.table["columns"]


def _only(balance: Column) -> str:
    return (
        f"Only {balance.header} says which way money goes: its steps are of the size of "
        "the amounts and not always of their sign. A layout cannot take the sign from the "
        f"balance; {_EXPORT}."
    )


def _against(balance: Column) -> str:
    return (
        f"{balance.header} does not always go up where money comes in and down where it "
        "goes out. Where it is what you have, exchange credit and debit in the layout; "
        "where it is what you owe, take the balance out of the layout."
    )


def _ask_of_balance(draft: Draft, named: Sequence[Column]) -> None:
    """Doubt columns that are named as a balance, and that the amounts do not prove."""
    if named:
        headers = " or ".join(column.header for column in named)
        question = f"The amounts do not add up to {headers} row by row: a sign or a row is "
        question += "wrong, or it is no balance of these rows. Which column is checked?"
        if len(named[0].cells) == 1:
            question = f"One row does not prove that {headers} is the balance after each "
            question += "row, nor that the amount's sign is right. Which column is it?"
        nothing = "leave it aside: all amounts have their right signs"
        chosen = draft.choose("balance", question, named, nothing)
        if chosen:
            draft.take("balance", chosen, "as answered")
    unread = [each for each in draft.left if not each.is_date and each.filled]
    unread = [each for each in best_named(unread, "balance", least=3) if each not in named]
    for column in (*named, *unread):
        draft.roles.setdefault(column.at, ("", "the amounts do not add up to it"))
    for column in unread:
        question = f"{column.header} is named as a balance, but has cells that are no "
        question += "amounts. Is it to be left aside?"
        draft.ask(f"columns.{column.header}", question, [Choice("-", "yes")])


def doubt_directions(draft: Draft, amounts: Sequence[Decimal | None]) -> None:
    """Doubt a column whose words may say which way money goes, beside unsigned amounts.

    Args:
      draft: The layout, its other columns chosen.
      amounts: What moved in each row.
    """
    if _is_pair(draft):
        return
    of_one_sign = len({amount > 0 for amount in amounts if amount}) == 1
    for column in draft.columns:
        key, _ = draft.roles.get(column.at, ("", ""))
        if key not in ("", "type", "text") or column.is_date or not column.values:
            continue
        words = {value: _direction(value) for value in column.values}
        if all(words.values()):
            if len(set(words.values())) == 1:  # a blank then is the other direction
                words[""] = -next(iter(words.values()))
            told = zip(column.cells, amounts, strict=True)
            if all((amount or 0) * words.get(cell, 0) >= 0 for cell, amount in told):
                continue
            _ask_of_direction(draft, column, likely=True)
        elif of_one_sign and column.at not in draft.roles and _may_direct(column):
            _ask_of_direction(draft, column, likely=False)


def _direction(word: str) -> int:
    """Return 1 for a word of money that comes in, -1 of money that goes out, else 0."""
    plain = plain_words(word)
    if word == "+" or plain in _INWARD:
        return 1
    return -1 if word == "-" or plain in _OUTWARD else 0


def _may_direct(column: Column) -> bool:
    """Return whether a column has one of two short words in each row."""
    if set(column.values) in ({"0", "1"}, {"-1", "1"}):
        return True
    return len(column.values) + (not column.full) == 2 and all(
        len(value) <= _SHORT
        and len(value.split()) <= 2
        and not any(char.isdigit() for char in value)
        for value in column.values
    )


def _ask_of_direction(draft: Draft, column: Column, likely: bool) -> None:
    """Ask whether a column says which way money goes; no layout reads one that does."""
    name = column.header or f"Column {column.at + 1}"
    words = " and ".join(column.values[:3])
    question = f"Does {name} ({words}) say which way money goes? "
    question += "The amounts have not the signs of it."
    yes = Choice("yes", "no layout can take the sign from it")
    no = Choice("no", "all amounts have their right signs")
    key = f"direction.{column.at + 1}"
    answer = draft.ask(key, question, (yes, no) if likely else (no, yes))
    if answer == "yes" and key in draft.answers:
        question = f"{name} says which way money goes, and a layout cannot take the sign "
        question += f"from it; {_EXPORT}."
        draft.doubts.append(Doubt("", question, ()))
