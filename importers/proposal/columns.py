"""Choose the columns that are neither dates nor amounts: order, texts, id."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from offcut.importers.proposal.draft import Draft
from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.trade_words import HEADINGS, heading_score, is_heading

_ORDER_NUMBER = re.compile(
    r"#[0-9]{1,8}|#?[A-Za-z]{1,4}[-/]?[0-9]{2,8}|[0-9]{4,8}|[0-9]{2,8}-[0-9]{1,8}"
)
_TEXT_LENGTH = 7
_CODE = re.compile(r"(?=.*[0-9])[^\s]{5,}")
_WITH_DIGIT = re.compile(r".*[0-9].*", re.DOTALL)


def best_named(columns: Iterable[Column], key: str, least: int = 2) -> list[Column]:
    """Return the columns whose heading names a key best, if well enough."""
    scores = [(heading_score(column.words, key), column) for column in columns]
    best = max([score for score, _ in scores], default=0)
    return [column for score, column in scores if score == best and best >= least]


def take_order(draft: Draft, needed: bool) -> None:
    """Choose the column of the order's number."""
    found = best_named(_texts(draft, _could_be_order), "order")
    if len(found) == 1 and _share(found[0], _WITH_DIGIT) > 0.9 and _only_order(found[0]):
        draft.take("order", found[0], "its heading, and cells such as order numbers")
        return
    question = "Which column has the order's number?"
    found = found or like_orders(draft)
    found += [each for each in _codes(draft) if each not in found]
    if found:
        column = draft.choose("order", question, found, "" if needed else "none of them")
        if column:
            draft.take("order", column, "as answered")


def _only_order(column: Column) -> bool:
    """Return whether a heading says an order's number, and nothing else that it may be."""
    if heading_score(column.words, "order") == 3:
        return True
    other = (key for key in HEADINGS if key != "order")
    return _share(column, _CODE) > 0.9 and not any(
        heading_score(column.words, key) for key in other
    )


def like_orders(draft: Draft) -> list[Column]:
    """Return the columns whose cells look like the numbers of orders.

    They have the usual form of one; or they are codes of any form that several rows share,
    and that are not the codes of what was sold, which come with the same text always.
    """
    texts = [each for each in draft.columns if not each.is_number and not each.is_date]
    return [
        each
        for each in _texts(draft, _could_be_order)
        if not _is_named_otherwise(each)
        and (
            _share(each, _ORDER_NUMBER) > 0.9
            or (
                _share(each, _CODE) > 0.9
                and len(each.values) < each.filled
                and not any(_same_rows(each, text) for text in texts if text is not each)
            )
        )
    ]


def _codes(draft: Draft) -> list[Column]:
    """Return columns of codes whose headings say nothing; those that rows share first."""
    codes = [
        each
        for each in _texts(draft, _could_be_order)
        if _share(each, _CODE) > 0.9 and not each.is_number and not is_heading(each.words)
    ]
    return sorted(codes, key=lambda each: len(each.values) == len(each.cells))


def _is_named_otherwise(column: Column) -> bool:
    other = ("id", "item", "text", "quantity", "coupon", "payee", "buyer")
    return any(heading_score(column.words, key) for key in other)


def _same_rows(one: Column, other: Column) -> bool:
    """Return whether two columns have the same cell in the same rows always."""
    pairs = set(zip(one.cells, other.cells, strict=True))
    return len(pairs) == len(set(one.cells)) == len(set(other.cells))


def take_id(draft: Draft) -> None:
    """Choose the column that tells every row from the others."""
    unique = _texts(draft, lambda each: each.unique and not _is_amount(each))
    found = best_named(unique, "id")
    why = "its heading, and no cell is like another"
    if not found and draft.sample.has_header:
        found = [
            each
            for each in unique
            if (_share(each, _CODE) == 1 or _is_entry(each))
            and not each.is_number
            and len(each.values) > 2
            and not any(heading_score(each.words, key) for key in ("text", "payee", "item"))
        ]
        why = "no cell is like another, and each is a code"
    if len(found) > 1:
        question = (
            "Several columns are different in every row. Which one names it for good?"
        )
        column = draft.choose("id", question, found, "none: go by all cells of a row")
        if column:
            draft.take("id", column, "as answered")
    elif found:
        draft.take("id", found[0], why)


def _is_entry(column: Column) -> bool:
    """Return whether short codes are those of entries, by the heading."""
    return "entry" in column.words.split() and _share(column, _WITH_DIGIT) == 1


def take_reference(draft: Draft) -> None:
    """Choose what ties the rows of a conversion together, where there are any."""
    if "conversion" not in draft.table.get("types", {}):
        return
    columns = _texts(draft, lambda each: each.filled > 0 and not _is_amount(each))
    found = best_named(columns, "id")
    if found:
        question = "Which column ties the two rows of a conversion together?"
        column = draft.choose("reference", question, found, "none of them")
        if column:
            draft.take("reference", column, "as answered")


def take_text(draft: Draft, key: str, question: str, needed: bool = False) -> None:
    """Choose the column of a text by its heading; where it is needed, by its cells.

    Args:
      draft: The layout.
      key: The key of the column: "text", "payee", "item", "coupon".
      question: What to ask where several may be it.
      needed: Whether the layout is none without it.
    """
    columns = _texts(draft, lambda each: not each.is_number and each.filled > 0)
    found = best_named(columns, key)
    if len(found) == 1:
        draft.take(key, found[0], "its heading, and texts in its cells")
        return
    if not found and needed:
        found = [each for each in columns if each.full] or columns
        found.sort(key=_length, reverse=True)
    if not found and key == "text":
        # A text without a known heading may be anything: the user has to say.
        found = [each for each in columns if _length(each) >= _TEXT_LENGTH]
    if found:
        column = draft.choose(key, question, found, "" if needed else "none of them")
        if column:
            draft.take(key, column, "as answered")


def _texts(draft: Draft, fits: Callable[[Column], bool]) -> list[Column]:
    return [column for column in draft.left if not column.is_date and fits(column)]


def _could_be_order(column: Column) -> bool:
    return bool(column.filled) and not _is_amount(column)


def _is_amount(column: Column) -> bool:
    """Return whether a column has numbers that are not plain digits."""
    return column.is_number and not all(value.isdigit() for value in column.values)


def _length(column: Column) -> float:
    """Return the mean length of a column's different texts."""
    return sum(map(len, column.values)) / max(1, len(column.values))


def _share(column: Column, pattern: re.Pattern[str]) -> float:
    """Return the share of a column's different cells that a pattern matches."""
    fitting = sum(pattern.fullmatch(value) is not None for value in column.values)
    return fitting / max(1, len(column.values))
