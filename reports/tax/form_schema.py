"""Check the year-end form of a file of tax rules, and the usual lines of accounts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from offcut.reports.tax.toml_checks import either, is_text, meant, unknown_keys

FORM_LINE = (
    *("line", "caption", "key", "part", "source", "from-memory"),
    *("side", "share", "adds", "takes"),
)
SIDES = ("income", "deduction", "cost")
NONE = "none"
# What stands on a line of the form beside its own accounts, by that line.
BESIDE = {"car": "car-other"}


def form_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the form, and with the usual lines of accounts.

    Args:
      table: The file's TOML.
    """
    for key in ("form-title", "form-source"):
        if not is_text(table.get(key, "some")):
            yield f"{key} must be text in quotes"
    form = table.get("form", [])
    if not isinstance(form, list):
        return  # said already
    lines = [each for each in form if isinstance(each, dict)]
    keys = {word for each in lines if isinstance(word := each.get("key"), str) and word}
    sums: dict[str, list[str]] = {}
    for number, each in enumerate(lines, 1):
        for mistake in _line_mistakes(each, keys, table.get("figures", {})):
            yield f"form {number}: {mistake}"
        parts = [*_keys(each, "adds"), *_keys(each, "takes")]
        if parts:
            sums.setdefault(str(each.get("key")), []).extend(parts)
    for key in sums:
        if _leads_to(key, key, sums, set()):
            yield f"form: {key} is a sum of itself"
    yield from _defaults_mistakes(table.get("defaults", {}), lines)


def line_words(sides: Iterable[tuple[str, str]]) -> list[str]:
    """Return what the `tax-line` of an account may be.

    Args:
      sides: The keys of the form's lines, and their sides.
    """
    words = [key for key, side in sides if side]
    return [*words, *(BESIDE[key] for key in words if key in BESIDE), NONE]


def _line_mistakes(
    each: Mapping[str, Any], keys: set[str], figures: Mapping[str, Any]
) -> Iterator[str]:
    yield from unknown_keys(each, FORM_LINE)
    for key in ("line", "caption"):
        if not is_text(each.get(key)):
            yield f"{key} must be text in quotes"
    for key in ("key", "part", "source", "side", "share"):
        if not isinstance(each.get(key, ""), str):
            yield f"{key} must be text in quotes"
    if not isinstance(each.get("from-memory", False), bool):
        yield f"from-memory must be true or false, not {each['from-memory']!r}"
    side, share = each.get("side", ""), each.get("share", "")
    if isinstance(side, str) and side and side not in SIDES:
        yield f"side is {side!r}{meant(side, SIDES)}; it can be {either(SIDES)}"
    if isinstance(share, str) and share and share not in figures:
        yield f"share names the figure {share}, which is missing; add it"
    if (side or "adds" in each) and not each.get("key"):
        yield "key is missing; give the line a word of its own"
    for way in ("adds", "takes"):
        named = each.get(way, [])
        if not (isinstance(named, list) and all(map(is_text, named))):
            yield f"{way} must be a list of the keys of other lines"
            continue
        for key in named:
            if key not in keys:
                yield f"{way} names {key!r}{meant(key, keys)}, which is no line's key"


def _defaults_mistakes(defaults: object, lines: list[dict[str, Any]]) -> Iterator[str]:
    if not isinstance(defaults, dict):
        yield "defaults must be a table of accounts and keys of lines: [defaults]"
        return
    words = line_words((str(each.get("key")), each.get("side", "")) for each in lines)
    for account, key in defaults.items():
        if not str(account).startswith(("Income", "Expenses")):
            yield f"defaults: {account!r} must be an account of income or expenses"
        if key not in words:
            hint = meant(key, words)
            yield f"defaults: {account}: {key!r}{hint} is no line that accounts stand on"


def _keys(each: Mapping[str, Any], way: str) -> list[str]:
    named = each.get(way, [])
    return [key for key in named if isinstance(key, str)] if isinstance(named, list) else []


def _leads_to(key: str, goal: str, sums: Mapping[str, list[str]], seen: set[str]) -> bool:
    """Tell whether one of the parts of a sum, or of their parts, is some key."""
    for part in sums.get(key, ()):
        if part == goal:
            return True
        if part not in seen:
            seen.add(part)
            if _leads_to(part, goal, sums, seen):
                return True
    return False
