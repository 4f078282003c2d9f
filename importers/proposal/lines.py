"""Choose the columns of money in a file of order lines or a tally."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.amounts import ZERO, Figures
from offcut.importers.proposal.columns import best_named
from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.payments import ask_of_amounts, money_columns
from offcut.importers.proposal.trade_words import heading_score
from offcut.importers.values import rounded

_PARTS = (
    ("shipping", "charged for shipping"),
    ("tax", "sales tax beside the prices"),
    ("discount", "what is taken off the line"),
    ("order-discount", "what is taken off the order"),
)
Row = tuple[Decimal, Decimal]


def quantity_columns(draft: Draft, figures: Figures) -> list[Column]:
    """Return the columns that may be a number of pieces, by their headings."""
    numbers = [each for each in draft.left if each.at in figures and each.full]
    return best_named([each for each in numbers if not each.named], "quantity")


def take_line_amounts(draft: Draft, figures: Figures, currencies: Sequence[str]) -> None:
    """Choose quantity, price or amount, discounts, shipping and tax.

    Raises:
      ImportRefused: No column has prices or amounts.
    """
    (quantity, *others) = quantity_columns(draft, figures)
    if others:
        question = "Which column has the number of pieces?"
        quantity = draft.choose("quantity", question, [quantity, *others]) or quantity
    draft.take("quantity", quantity, "its heading, and a number in every row")
    discount = _take_discounts(draft, figures)
    for key in ("shipping", "tax"):
        if draft.table["kind"] == "tally":
            break
        for column in best_named(money_columns(draft, figures), key)[:1]:
            draft.take(key, column, "its heading, and amounts in its cells")
    _take_price(draft, quantity, discount, figures, currencies)
    if draft.table["kind"] == "order-lines":
        free = [each for each in _PARTS if each[0] not in draft.table["columns"]]
        ask_of_amounts(draft, figures, free)


def _take_discounts(draft: Draft, figures: Figures) -> list[Decimal]:
    """Choose the column of discounts; return what it takes off each row."""
    none = [ZERO] * len(draft.columns[0].cells)
    found = best_named(money_columns(draft, figures), "discount")
    for key in ("discount-rate", "order-discount"):
        for column in best_named(draft.left, key):
            found = [each for each in found if each is not column]
            if draft.table["kind"] == "order-lines" and column.at in figures:
                draft.take(key, column, "its heading, and numbers in its cells")
    if not found:
        return none
    column = found[0]
    draft.take("discount", column, "its heading, and amounts in its cells")
    values = [each or ZERO for each in figures[column.at]]
    if any(each < 0 for each in values) and any(each > 0 for each in values):
        choices = [Choice("positive", "0.50 is taken off"), Choice("negative", "-0.50 is")]
        answer = draft.ask("forms.discount", "How is a reduction written?", choices)
        draft.put("forms.discount", answer, "as answered")
        return [each if answer == "positive" else -each for each in values]
    negative = any(each < 0 for each in values)
    why = "no reduction is written with the other sign"
    draft.put("forms.discount", "negative" if negative else "positive", why)
    return [abs(each) for each in values]


def _take_price(
    draft: Draft,
    quantity: Column,
    discounts: Sequence[Decimal],
    figures: Figures,
    currencies: Sequence[str],
) -> None:
    """Choose the price of a piece or the amount of a line: arithmetic, or the heading."""
    columns = [each for each in money_columns(draft, figures) if each.full]
    pieces = [each or ZERO for each in figures[quantity.at]]
    varied = any(each != 1 for each in pieces)

    def score(column: Column, *keys: str) -> int:
        return max(heading_score(column.words, key) for key in keys)

    pairs = []
    for price in columns:
        for amount in columns:
            if price is amount or not varied:
                continue
            names = (score(price, "unit-price", "price"), score(amount, "amount", "gross"))
            if min(names) > 0 and _multiplies(
                (pieces, discounts, figures[price.at], figures[amount.at]), currencies
            ):
                pairs.append((sum(names), price, amount))
    if pairs:
        _, price, amount = max(pairs, key=lambda each: each[0])
        why = f"{quantity.header} x {price.header} = {amount.header} in every row"
        draft.take("unit-price", price, why)
        draft.roles[amount.at] = ("", f"follows: {why}")
        return
    exact = [each for each in columns if score(each, "unit-price") == 3]
    if len(exact) == 1:
        draft.take("unit-price", exact[0], "its heading, and an amount in every row")
        return
    likely = [
        each
        for each in columns
        if score(each, "unit-price", "price", "amount", "gross") >= 2
    ] or columns
    if not likely:
        message = "expected a column with a price or an amount in every row, found none; "
        message += "export the file with its prices"
        raise ImportRefused([Problem(draft.sample.name, None, None, message)])
    if len(likely) == 1 and (key := _by_items(draft, pieces, figures[likely[0].at])):
        whose = {"unit-price": "stays the same whatever the", "amount": "grows with the"}
        why = f"for the same item it {whose[key]} quantity"
        draft.take(key, likely[0], why)
        _ask_of_discount(draft, key, discounts)
        return
    choices = []
    for column in likely:
        first = "amount" if score(column, "amount") else "unit-price"
        for key in dict.fromkeys((first, "unit-price", "amount")):
            meaning = "price of one piece" if key == "unit-price" else "the whole line's"
            choices.append(Choice(f"{key} {column.header}", f"{column.header}: {meaning}"))
    question = "Which column has the price of a piece, or the amount of a line?"
    key, _, header = draft.ask("columns.unit-price", question, choices).partition(" ")
    column = next((each for each in likely if each.header == header), likely[0])
    draft.take(key, column, "as answered")
    _ask_of_discount(draft, key, discounts)


def _multiplies(
    rows: tuple[
        Sequence[Decimal],
        Sequence[Decimal],
        Sequence[Decimal | None],
        Sequence[Decimal | None],
    ],
    currencies: Sequence[str],
) -> bool:
    """Return whether quantity times price is the amount, before or after the discount."""
    for less in (0, 1):
        if all(
            rounded(pieces * (price or ZERO), currency) - less * discount
            == (amount or ZERO)
            for pieces, discount, price, amount, currency in zip(
                *rows, currencies, strict=True
            )
        ):
            return True
    return False


def _by_items(
    draft: Draft, pieces: Sequence[Decimal], values: Sequence[Decimal | None]
) -> str:
    """Return what a column is by items sold in different quantities; "" if none tell."""
    header = draft.table["columns"]["item"]
    item = next(each for each in draft.columns if each.header == header)
    sold: dict[str, set[Row]] = defaultdict(set)
    for text, count, value in zip(item.cells, pieces, values, strict=True):
        if count and value:
            sold[text].add((count, value))
    told = [rows for rows in sold.values() if len({count for count, _ in rows}) > 1]
    same = sum(len({value for _, value in rows}) == 1 for rows in told)
    grows = sum(len({value / count for count, value in rows}) == 1 for rows in told)
    if told and same == len(told):
        return "unit-price"
    return "amount" if told and grows == len(told) else ""


def _ask_of_discount(draft: Draft, key: str, discounts: Sequence[Decimal]) -> None:
    """Doubt an amount beside a discount, which may be taken off it already."""
    if key == "amount" and any(discounts):
        question = "Is the amount of a line before its discount, as it has to be?"
        draft.ask("columns.amount", question, [Choice("before", "yes")])


def take_repetition(draft: Draft, figures: Figures) -> None:
    """Say whether an order's shipping and tax stand on each of its lines, or add up."""
    columns = draft.table["columns"]
    by_header = {column.header: column for column in draft.columns}
    orders: dict[str, list[int]] = defaultdict(list)
    for at, cell in enumerate(by_header[columns["order"]].cells):
        orders[cell].append(at)
    several = [rows for rows in orders.values() if len(rows) > 1]
    price = columns.get("unit-price") or columns.get("amount", "")
    prices = figures[by_header[price].at]
    differing, same, telling = [], [], 0
    for key in ("shipping", "tax", "order-discount"):
        if key not in columns:
            continue
        values = figures[by_header[columns[key]].at]
        parts = [([values[at] or ZERO for at in rows], rows) for rows in several]
        parts = [part for part in parts if any(part[0])]
        if any(len(set(part)) > 1 for part, _ in parts):
            differing.append(key)
        elif parts:
            same.append(key)
            telling += sum(len({prices[at] for at in rows}) > 1 for _, rows in parts)
    every_line = Choice("every-line", "yes, the whole order's on each line")
    add_up = Choice("add-up", "no, the lines' add up to the order's")
    if differing and not same:
        draft.put("orders.amounts", "add-up", "the lines of an order have different ones")
    elif not differing and telling >= 2:
        why = "all lines of an order have the same, whatever their prices"
        draft.put("orders.amounts", "every-line", why)
    elif differing or same:
        question = "Do the shipping and tax of an order stand on each of its lines?"
        choices = (add_up, every_line) if differing else (every_line, add_up)
        answer = draft.ask("orders.amounts", question, choices)
        draft.put("orders.amounts", answer, "as answered")
    elif {"shipping", "tax", "order-discount"} & columns.keys():
        why = "no order of several lines has any: refused later where lines differ"
        draft.put("orders.amounts", "every-line", why)
