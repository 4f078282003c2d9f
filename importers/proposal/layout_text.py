"""Write a proposed layout as TOML, with its reasons and doubts as comments.

Texts of the file are quoted by TOML's own rules and comments are of one line each, so
that nothing in a file can become a key of the layout.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import tomlkit

from offcut.importers.layout_schema import COLUMNS
from offcut.importers.proposal.draft import Doubt, Draft
from offcut.importers.values import one_line

_WIDTH = 88
_TOP = ("kind", "source", "channel", "currency")
_SECTIONS = ("file", "columns", "forms", "types", "orders", "totals")


def layout_text(draft: Draft) -> str:
    """Return a layout as TOML.

    Args:
      draft: The layout with what is doubtful about it.
    """
    doubts = list(draft.doubts)
    lines = [*_comment(_head(draft)), ""]
    for key in _TOP:
        lines += _key("", key, draft.table[key], draft.reasons, doubts)
    for section in _SECTIONS:
        table = draft.table.get(section, {})
        lines += _section(section, table, draft, doubts)
    for rule in draft.table.get("leave-out", ()):
        lines += ["", "[[leave-out]]"]
        lines += [f"{key} = {_value(value)}" for key, value in rule.items()]
    if doubts:  # of keys that have no line of their own
        lines.append("")
        for doubt in doubts:
            lines += _doubt(doubt)
    return "\n".join(lines) + "\n"


def _head(draft: Draft) -> str:
    rows = len(draft.columns[0].cells)
    text = f"How to read files like {draft.sample.name}: proposed by its "
    counted = f"{rows:,} row{'' if rows == 1 else 's'}."
    text += counted if draft.sample.whole else f"first {counted}"
    if draft.doubts:
        text += (
            " What is marked DOUBT the file does not tell: correct it, or take the mark "
        )
        text += "out where it is right."
    return text


def _section(
    section: str, table: Mapping[str, Any], draft: Draft, doubts: list[Doubt]
) -> Iterator[str]:
    """Yield the lines of a section; the doubts that it has are taken from the list."""
    words = [each for each in doubts if each.key.startswith(f"{section}.")]
    if not table and not words:
        return
    yield from ("", f"[{section}]")
    keys = list(table)
    if section == "columns":
        order = COLUMNS[draft.table["kind"]]
        keys.sort(key=order.index)
        unused = [
            column.header
            for column in draft.columns
            if not draft.roles.get(column.at, ("", ""))[0] and column.header
        ]
        if unused:
            yield from _comment(f"Not used: {', '.join(unused)}")
    for doubt in words:
        if doubt.key.partition(".")[2] not in table:
            yield from _doubt(doubt)
            doubts.remove(doubt)
    for key in keys:
        yield from _key(section, key, table[key], draft.reasons, doubts)


def _key(
    section: str, key: str, value: object, reasons: Mapping[str, str], doubts: list[Doubt]
) -> Iterator[str]:
    """Yield the lines of a key, with its reason and its doubts before it."""
    name = f"{section}.{key}" if section else key
    of_key = [doubt for doubt in doubts if doubt.key == name]
    for doubt in of_key:
        yield from _doubt(doubt)
        doubts.remove(doubt)
    line = f"{key} = {_value(value)}"
    reason = "" if of_key else one_line(reasons.get(name, ""))
    if reason and len(line) + len(reason) + 4 > _WIDTH:
        yield from _comment(reason)
        reason = ""
    yield f"{line}  # {reason}" if reason else line


def _doubt(doubt: Doubt) -> Iterator[str]:
    yield from _comment(f"DOUBT: {doubt.question}")
    for choice in doubt.choices:
        meaning = f": {choice.meaning}" if choice.meaning else ""
        yield from _comment(f"  {choice.value}{meaning}", "#    ")
    if doubt.free:
        yield "#   or another"


def _comment(text: str, then: str = "# ") -> Iterable[str]:
    blanks = " " * (len(text) - len(text.lstrip()))
    return textwrap.wrap(
        one_line(text),
        _WIDTH,
        initial_indent=f"# {blanks}",
        subsequent_indent=then + blanks,
        break_on_hyphens=False,
    )


def _value(value: Any) -> str:
    """Return a value as TOML writes it, on one line."""
    return str(tomlkit.item(value).as_string())
