"""Choose the currency of an unknown file: by a column, by symbols, or by asking."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from offcut.importers.proposal.columns import best_named
from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import currencies_of


def take_currency(draft: Draft) -> list[str]:
    """Say the currencies; return that of each row."""
    wish, usual = draft.wishes.currency, draft.wishes.usual_currency
    codes = [
        column
        for column in draft.left
        if column.full
        and len(column.values) <= 40
        and all(len(value) == 3 and value.isalpha() for value in column.values)
        and all(currencies_of(value) == {value.upper()} for value in column.values)
    ]
    if len(codes) > 1:
        codes = best_named(codes, "currency") or codes
    if codes:
        chosen = codes[0]
        if any(each.cells != chosen.cells for each in codes):
            question = "Which column has the currency of the amounts?"
            chosen = draft.choose("currency", question, codes) or chosen
        draft.take("currency", chosen, "every cell is the code of a currency")
        counts = Counter(cell.upper() for cell in chosen.cells)
        found = [code for code, _ in counts.most_common()]
        draft.put("currency", found[0] if len(found) == 1 else found, "those that occur")
        return [cell.upper() for cell in chosen.cells]
    code, why = wish, "as wished"
    if not code:
        code, why = _currency_named(draft, usual)
    if not code:
        code, why = _asked_currency(draft, _usual_choices(usual)), "as answered"
    draft.put("currency", code, why)
    return [code] * len(draft.columns[0].cells)


def _currency_named(draft: Draft, usual: str) -> tuple[str, str]:
    """Return the currency that headings or symbols name, and why; empty where none do."""
    headings = {
        code
        for column in draft.columns
        for code in re.findall(r"\b[A-Z]{3}\b", column.header)
        if currencies_of(code) == {code} and column.is_number
    }
    if len(headings) == 1:
        return headings.pop(), "a heading names it"
    symbols = {
        name for column in draft.columns for name in column.named if name not in ("%", "")
    }
    if symbols:
        likely = frozenset.intersection(*(currencies_of(name) for name in symbols))
        shown = " ".join(sorted(symbols))
        if len(likely) == 1:
            return next(iter(likely)), f"{shown} stands beside the amounts"
        if usual in likely:
            return usual, f"{shown} stands beside the amounts, and it is the ledger's own"
        usuals = ("USD", "EUR", "GBP", "CAD", "AUD", "JPY", "SEK", "NOK", "DKK", "CHF")
        first = [code for code in usuals if code in likely]
        if likely:
            codes = [Choice(code, "") for code in (*first, *sorted(likely - {*first}))]
            return _asked_currency(draft, codes), "as answered"
    return "", ""


def _usual_choices(usual: str) -> list[Choice]:
    """Return the choices where nothing in a file names a currency."""
    own = [Choice(usual, "the ledger's own; nothing in the file names another")]
    rest = [Choice(code, "") for code in ("USD", "EUR", "GBP") if code != usual]
    return [*(own if usual else []), *rest]


def _asked_currency(draft: Draft, choices: Sequence[Choice]) -> str:
    question = "Which currency are the amounts in?"
    return draft.ask("currency", question, choices[:8], free=True)
