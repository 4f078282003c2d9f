"""Guess what the words of a type column mean, by the words and the signs beside them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.layout import Movement
from offcut.importers.proposal.columns import best_named
from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.states import WORDS_AT_MOST, is_state
from offcut.importers.proposal.trade_words import (
    DIRECTIONS,
    heading_score,
    movements_named,
)

MEANINGS: dict[Movement, str] = {
    "sale": "a buyer paid",
    "refund": "money went back to a buyer",
    "fee": "a charge of the processor",
    "payout": "money went to the bank",
    "dispute": "a buyer took money back through the card or the marketplace",
    "dispute-fee": "the charge for a dispute",
    "reversal": "disputed money came back",
    "hold": "money was set aside",
    "release": "money set aside was freed",
    "tip": "a tip",
    "gift-card-sale": "a gift card was sold",
    "gift-card-use": "a gift card paid an order",
    "deposit": "a buyer paid beforehand",
    "tax-remitted": "tax that the marketplace pays over",
    "conversion": "one currency was changed into another",
    "postage": "a label was bought",
    "adjustment": "anything else: it waits in suspense",
}


def type_columns(columns: Sequence[Column]) -> list[Column]:
    """Return the columns whose cells may say what kind of movement each row is."""
    likely = [
        column
        for column in columns
        if column.full
        and not column.is_number
        and not column.is_date
        and len(column.values) <= WORDS_AT_MOST
        and not any(len(value) > 60 for value in column.values)
    ]
    named = [each for each in likely if heading_score(each.words, "type") and _known(each)]
    if named:
        return best_named(named, "type")
    worded = [
        each
        for each in likely
        if _known(each) == len(each.values)
        and not is_state(each)
        and not any(heading_score(each.words, key) for key in ("text", "item", "payee"))
    ]
    return worded or best_named(likely, "type", least=3)


def has_movements(column: Column) -> bool:
    """Return whether a few words, repeated, have some of a movement among them."""
    return 2 * len(column.values) <= len(column.cells) and _known(column) > 0


def _known(column: Column) -> int:
    """Return how many of the words of a column are of movements, wholly."""
    return sum(movements_named(value)[1] for value in column.values)


def take_types(draft: Draft, column: Column, amounts: Sequence[Decimal | None]) -> None:
    """Say what each word of the type column means; ask where it is not certain.

    Args:
      draft: The layout.
      column: The type column.
      amounts: What moved in each row: the gross, or the net where that is nothing.
    """
    draft.take("type", column, "few words, which say what moved")
    types: dict[str, list[str]] = {}
    seen: dict[str, str] = {}
    unsigned = _without_signs(draft, column, amounts)
    for value in column.values:
        folded = value.casefold()
        if folded in seen:
            continue
        signs = {
            1 if amount > 0 else -1
            for cell, amount in zip(column.cells, amounts, strict=True)
            if cell.casefold() == folded and amount
        }
        seen[folded] = _meaning(draft, value, set() if unsigned else signs)
        types.setdefault(seen[folded], []).append(value)
    for movement, words in types.items():
        draft.put(f"types.{movement}", words, "")


def _without_signs(draft: Draft, column: Column, amounts: Sequence[Decimal | None]) -> bool:
    """Return whether words go both ways and no amount is negative; ask what that means."""
    if "credit" in draft.table["columns"] or any((each or 0) < 0 for each in amounts):
        return False
    ways = set()
    for value in column.values:
        named, wholly = movements_named(value)
        if wholly and len(named) == 1:
            ways.add(DIRECTIONS.get(named[0], 0))
    if not {1, -1} <= ways:
        return False
    question = "Words go both ways, and no amount has a minus. Are the amounts signed?"
    choices = (
        Choice("unsigned", "no: the type says which way money goes"),
        Choice("signed", "yes: money came in in every row"),
    )
    answer = draft.ask("forms.amounts", question, choices)
    draft.put("forms.amounts", answer, "as answered")
    return answer == "unsigned"


def _meaning(draft: Draft, word: str, signs: set[int]) -> str:
    """Return the movement that a word means."""
    named, wholly = movements_named(word)
    fitting = [
        movement
        for movement in named
        if movement not in DIRECTIONS or signs <= {DIRECTIONS[movement]}
    ]
    if len(fitting) == 1 and wholly:
        return fitting[0]
    sign = {frozenset({1}): "comes in", frozenset({-1}): "goes out"}
    goes = sign.get(frozenset(signs), "goes both ways" if signs else "is none")
    question = f"What does {word!r} mean? The money of its rows {goes}."
    if named and not fitting:
        question += f" A {named[0]} would go the other way."
    order = list(dict.fromkeys([*fitting, "adjustment", *named, *MEANINGS]))
    choices = [Choice(each, MEANINGS[each]) for each in order]
    choices.append(Choice("ignore", "leave such rows out"))
    return draft.ask(f"types.{word}", question, choices)


def take_default(draft: Draft, amounts: Sequence[Decimal | None]) -> None:
    """Say what every row is, in a file without a type column."""
    negative = any((amount or 0) < 0 for amount in amounts)
    words: list[Movement] = ["sale", "adjustment", "payout", "fee", "postage", "refund"]
    if not negative and (
        "order" in draft.table["columns"] or "fee" in draft.table["columns"]
    ):
        draft.put("types.default", "sale", "money comes in in every row")
        return
    if negative:
        words = ["adjustment", "sale", "postage", "fee", "payout", "refund"]
    question = "No column says what moved. What is every row?"
    answer = draft.ask("types.default", question, [Choice(w, MEANINGS[w]) for w in words])
    draft.put("types.default", answer, "no column says what moved")
