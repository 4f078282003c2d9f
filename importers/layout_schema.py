"""What may stand in a layout, and what is wrong with one."""

from __future__ import annotations

import datetime
import difflib
import itertools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from babel import Locale, UnknownLocaleError
from beancount.core.account import is_valid as is_account

KINDS = ("payments", "order-lines", "bank", "tally")
MOVEMENTS = (
    *("sale", "refund", "fee", "payout", "dispute", "dispute-fee", "reversal", "hold"),
    *("release", "tip", "gift-card-sale", "gift-card-use", "deposit", "tax-remitted"),
    *("conversion", "postage", "adjustment"),
)
COLUMNS = {
    "payments": (
        *("date", "type", "order", "text", "payee", "gross", "credit", "debit", "fee"),
        *("net", "tax", "tax-remitted", "shipping", "tip", "balance", "currency"),
        *("reference", "id"),
    ),
    "order-lines": (
        *("order", "date", "buyer", "item", "quantity", "unit-price", "amount"),
        *("discount", "discount-rate", "order-discount", "coupon", "shipping", "tax"),
        *("status", "currency", "id"),
    ),
    "bank": (
        *("date", "text", "payee", "gross", "credit", "debit", "balance", "currency"),
        *("reference", "id"),
    ),
    "tally": ("date", "item", "quantity", "unit-price", "amount", "discount", "currency"),
}
# What may be made of several columns: texts are joined, charges added up.
SEVERAL = ("text", "item", "fee")
AMOUNTS = ("gross", "net", "credit", "debit")
ACCOUNTS = (
    *("clearing", "fees", "dispute-fees", "payout", "held", "sales", "shipping"),
    *("discounts", "refunds", "disputes", "tips", "gift-cards", "deposits", "suspense"),
    *("receivable", "tax", "tax-remitted", "postage", "giveaways"),
)

Check = Callable[[Any], str | None]
"""Takes a value; returns what was expected where it is not that, else None."""


def mistakes(table: Mapping[str, Any]) -> list[str]:
    """Return what is wrong with the table of a layout, a sentence each."""
    required = _REQUIRED_OF_BANK if table.get("kind") == "bank" else _REQUIRED
    found = list(_table_mistakes("", table, _TOP, required=required))
    for section, checks in _SECTIONS.items():
        value = table.get(section, {})
        if isinstance(value, dict):
            found.extend(_table_mistakes(section, value, checks))
    if not found:
        found.extend(_column_mistakes(table))
        found.extend(_type_mistakes(table))
        found.extend(_rule_mistakes(table))
        if "cancelled" in table.get("orders", {}) and "status" not in table["columns"]:
            found.append("[orders] cancelled has its place beside [columns] status")
    return found


def nearest(word: str, known: Iterable[str]) -> str:
    """Return what to say of an unknown word: what it may be meant for, or all there is."""
    known = list(known)
    near = difflib.get_close_matches(word, known, n=1)
    return f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"


def _table_mistakes(
    section: str, table: Mapping[str, Any], checks: Mapping[str, Check], required: Any = ()
) -> Iterator[str]:
    """Yield unknown keys, missing keys and values that are not what was expected."""
    where = f"[{section}] " if section else ""
    for key in required:
        if key not in table:
            yield f"{where}{key} is missing, expected {checks[key](None)}"
    for key, value in table.items():
        if key not in checks:
            yield f"{where}unknown key {key!r} ({nearest(key, checks)})"
        elif expected := checks[key](value):
            yield f"{where}{key}: expected {expected}, found {value!r}"


def _column_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    columns, kind = table["columns"], table["kind"]
    for key in columns:
        if key not in COLUMNS[kind]:
            yield f"[columns] unknown key {key!r} in {kind} ({nearest(key, COLUMNS[kind])})"
    if "date" not in columns and kind != "tally":
        yield "[columns] date is missing, expected the header of the date column"
    if kind in ("payments", "bank"):
        if not set(AMOUNTS) & columns.keys():
            yield "[columns] gross or net is missing, expected the header of an amount"
        if {"credit", "debit"} & columns.keys() and {"gross", "net"} & columns.keys():
            yield "[columns] credit and debit stand in place of gross and net"
        if len({"credit", "debit"} & columns.keys()) == 1:
            yield "[columns] expected both credit and debit, or gross in place of them"
    if kind in ("order-lines", "tally"):
        needed = (
            ("order", "item", "quantity") if kind == "order-lines" else ("item", "quantity")
        )
        for key in needed:
            if key not in columns:
                yield f"[columns] {key} is missing, expected the header of its column"
        if len({"unit-price", "amount"} & columns.keys()) != 1:
            yield "[columns] expected one of unit-price and amount"
    named = table.get("file", {}).get("names")
    if named:
        for key, headers in columns.items():
            for header in [headers] if isinstance(headers, str) else headers:
                if header not in named:
                    yield f"[columns] {key}: {header!r} is not in [file] names"


def _type_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    types = table.get("types", {})
    amounts = table.get("forms", {}).get("amounts")
    if amounts and (table["kind"] != "payments" or "type" not in table["columns"]):
        yield "[forms] amounts has its place in payments with [columns] type"
    elif amounts == "unsigned" and "credit" in table["columns"]:
        yield '[forms] amounts = "unsigned" has no place beside credit and debit'
    if table["kind"] != "payments":
        if types:
            yield f"[types] has no place in a layout of {table['kind']}"
        return
    if "type" in table["columns"]:
        if "default" in types:
            yield "[types] default has no place where [columns] type is given"
        if not types:
            yield "[types] is missing, expected the words of the type column"
    elif "default" not in types:
        yield '[types] default is missing, expected what every row is: default = "sale"'
    meaning: dict[str, str] = {}
    for movement, words in types.items():
        for word in words if movement != "default" else ():
            other = meaning.setdefault(word.strip().casefold(), movement)
            if other != movement:
                yield f"[types] the word {word!r} stands in both {other} and {movement}"


def _rule_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with rules that look at a column of each row."""
    for key, says in (("leave-out", "reason"), ("book-to", "account")):
        checks = _RULE | {says: _RULE_SAYS[says]}
        for rule in table.get(key, ()):
            yield from _table_mistakes(f"[{key}]", rule, checks, required=("column", says))
            if len({"equals", "matches"} & rule.keys()) != 1:
                yield f"[[{key}]] expected one of equals and matches"
    if "totals" in table:
        yield from _table_mistakes(
            "totals", table["totals"], _TOTALS, required=("column", "equals")
        )
        if table["kind"] not in ("payments", "bank"):
            yield f"[totals] has no place in a layout of {table['kind']}"
    if "book-to" in table and table["kind"] not in ("payments", "bank"):
        yield f"[[book-to]] has no place in a layout of {table['kind']}"


def _text(value: Any) -> str | None:
    return None if isinstance(value, str) and value.strip() else "a text"


def _cell(value: Any) -> str | None:
    return None if isinstance(value, str) else "a text"


def _texts(value: Any) -> str | None:
    fine = isinstance(value, list) and all(isinstance(each, str) and each for each in value)
    return None if fine and value else "a list of texts"


def _text_or_texts(value: Any) -> str | None:
    return _text(value) and _texts(value) and "a text or a list of texts"


def _date_forms(value: Any) -> str | None:
    if expected := _text_or_texts(value):
        return expected
    day = datetime.datetime(2025, 3, 31, tzinfo=datetime.UTC)
    for form in [value] if isinstance(value, str) else value:
        try:
            read = datetime.datetime.strptime(day.strftime(form), form)
            sound = read.date() == day.date()
        except ValueError:
            sound = False
        if not sound:
            return 'a form with day, month and year, such as "%Y-%m-%d"'
    return None if isinstance(value, str) else _two_readings(value)


def _two_readings(forms: list[str]) -> str | None:
    """Return what was expected where one form reads as another day what another wrote."""
    day = datetime.datetime(2003, 4, 5, tzinfo=datetime.UTC)  # all parts are days, too
    for one, other in itertools.permutations(forms, 2):
        written = day.strftime(one)
        try:
            read = datetime.datetime.strptime(written, other).date()
        except ValueError:
            continue
        if read != day.date():
            return (
                f'forms that read every date alike ("{written}" is {day.date()} by '
                f'"{one}" and {read} by "{other}"; leave out the one that the file does '
                "not have)"
            )
    return None


def _matching(pattern: str, expected: str) -> Check:
    """Return a check for a text that an expression matches as a whole."""

    def check(value: Any) -> str | None:
        return None if isinstance(value, str) and re.fullmatch(pattern, value) else expected

    return check


def _one_of(*words: str) -> Check:
    def check(value: Any) -> str | None:
        return None if value in words else f"one of {', '.join(words)}"

    return check


def _currency(value: Any) -> str | None:
    values = [value] if isinstance(value, str) else value
    fine = isinstance(values, list) and values
    if fine and all(isinstance(v, str) and re.fullmatch("[A-Z]{3}", v) for v in values):
        return None
    return 'a currency such as "USD", or a list of them'


def _encoding(value: Any) -> str | None:
    if expected := _text_or_texts(value):
        return expected
    for name in [value] if isinstance(value, str) else value:
        try:
            "a".encode(name)  # a look-up finds codecs that are not of text, too
        except (LookupError, ValueError):
            return "the name of an encoding, such as utf-8, cp1252 or latin-1"
    return None


def _delimiter(value: Any) -> str | None:
    fine = value in ("tab", "spaces") or (isinstance(value, str) and len(value) == 1)
    return None if fine and value not in '"\r\n' else 'one character, "tab" or "spaces"'


def _count(value: Any) -> str | None:
    fine = isinstance(value, int) and not isinstance(value, bool) and value >= 0
    return None if fine else "a whole number, 0 or more"


def _locale(value: Any) -> str | None:
    try:
        Locale.parse(value)
    except (UnknownLocaleError, ValueError, TypeError):
        return "a locale such as en_US or de_DE"
    return None


def _expression(value: Any) -> str | None:
    try:
        re.compile(value)
    except (re.error, TypeError):
        return "a regular expression"
    return None


def _account(value: Any) -> str | None:
    fine = isinstance(value, str) and is_account(value)
    return None if fine else "an account such as Assets:Clearing:Card"


def _table(value: Any) -> str | None:
    return None if isinstance(value, dict) else "a table"


def _tables(value: Any) -> str | None:
    fine = isinstance(value, list) and all(isinstance(each, dict) for each in value)
    return None if fine else "tables, each begun with its name in [[ ]]"


_REQUIRED = ("kind", "source", "channel", "currency", "columns")
_REQUIRED_OF_BANK = ("kind", "source", "currency", "columns")
_TOP: dict[str, Check] = {
    "kind": _one_of(*KINDS),
    "source": _matching("[a-z][a-z0-9]*(-[a-z0-9]+)*", "a lower-case word such as card"),
    "channel": _matching("[A-Z][A-Za-z0-9-]*", "a part of an account's name, such as Web"),
    "currency": _currency,
    "file": _table,
    "columns": _table,
    "forms": _table,
    "types": _table,
    "orders": _table,
    "leave-out": _tables,
    "book-to": _tables,
    "totals": _table,
    "accounts": _table,
}
_SECTIONS: dict[str, dict[str, Check]] = {
    "file": {
        "encoding": _encoding,
        "delimiter": _delimiter,
        "preamble": _count,
        "names": _texts,
    },
    "columns": {
        key: _text_or_texts if key in SEVERAL else _text
        for keys in COLUMNS.values()
        for key in keys
    },
    "forms": {
        "date": _date_forms,
        "date-locale": _locale,
        "locale": _locale,
        "fee": _one_of("positive", "negative"),
        "debit": _one_of("positive", "negative"),
        "tax-remitted": _one_of("positive", "negative"),
        "discount": _one_of("positive", "negative"),
        "amounts": _one_of("signed", "unsigned"),
    },
    "types": {
        **dict.fromkeys((*MOVEMENTS, "ignore"), _texts),
        "default": _one_of(*MOVEMENTS),
    },
    "orders": {
        "amounts": _one_of("every-line", "add-up"),
        "prefix": _matching("[A-Za-z0-9/_.-]*", "letters, digits and -_/. only"),
        "several": _matching(r"\S+", "what stands between the numbers, such as ,"),
        "tax": _one_of("owed", "remitted"),
        "cancelled": _texts,
    },
    "accounts": dict.fromkeys(ACCOUNTS, _account),
}
_RULE: dict[str, Check] = {"column": _text, "equals": _cell, "matches": _expression}
_TOTALS: dict[str, Check] = {"column": _text, "equals": _text}
_RULE_SAYS: dict[str, Check] = {"reason": _text, "account": _account}
