"""What may be wrong with any table of TOML, said in one way."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, TypeGuard


def is_number(value: object) -> TypeGuard[int | Decimal]:
    """Tell whether a TOML value is a number that Decimals hold exactly.

    TOML knows `inf` and `nan`; no amount of money is either.
    """
    if isinstance(value, Decimal):
        return value.is_finite()
    return isinstance(value, int) and not isinstance(value, bool)


def is_share(value: object) -> bool:
    """Tell whether a TOML value is a share of 1."""
    return is_number(value) and 0 <= value <= 1


def are_edges(values: object, count: int) -> bool:
    """Tell whether a TOML value is the upper edges of so many brackets.

    A bracket that ends at zero, or where the one below it ends, is none.
    """
    return (
        isinstance(values, list)
        and len(values) == count
        and all(map(is_number, values))
        and all(low < high for low, high in zip([0, *values], values, strict=False))
    )


def is_text(value: object) -> bool:
    """Tell whether a TOML value is a text that says something."""
    return isinstance(value, str) and bool(value.strip())


def shown(value: object) -> str:
    """Return a TOML value as it is written in a file, on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    return repr(value) if isinstance(value, str) else str(value)


def meant(word: object, known: Iterable[str]) -> str:
    """Return ' (did you mean X?)' where something near is known; else nothing."""
    near = difflib.get_close_matches(str(word), list(known), n=1)
    return f" (did you mean {near[0]}?)" if near else ""


def unknown_keys(table: Mapping[str, Any], known: Iterable[str]) -> Iterator[str]:
    """Yield what is to be said of each key that is not known, in the table's order.

    Args:
      table: The table.
      known: The keys that it may have.
    """
    words = list(known)
    for key in table:
        if key not in words:
            yield f"unknown key {key!r}{meant(key, words)}"


def either(words: Iterable[str]) -> str:
    """Return words as a choice: 'a, b or c'."""
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


def source_mistakes(each: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the source of a figure, or of anything else of the rules.

    Args:
      each: Its table.
    """
    if not is_text(each.get("source")):
        yield "source is missing; say where the figure stands"
    if not isinstance(each.get("from-memory", False), bool):
        yield f"from-memory must be true or false, not {shown(each['from-memory'])}"


def prefixed(where: str, mistakes: Iterable[str]) -> Iterator[str]:
    """Yield mistakes with the place that they are in.

    Args:
      where: The place.
      mistakes: What is wrong there.
    """
    return (f"{where}: {each}" for each in mistakes)
