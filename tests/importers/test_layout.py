"""Layouts: what ships is sound, and what is wrong in one is said."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest

from offcut.importers import layout_schema
from offcut.importers.layout import layout_of, read_layout, shipped_layouts
from offcut.importers.problems import ImportRefused

PAYMENTS: dict[str, Any] = {
    "kind": "payments",
    "source": "card",
    "channel": "Web",
    "currency": "USD",
    "columns": {"date": "Date", "type": "Type", "gross": "Gross"},
    "types": {"sale": ["Sale"], "ignore": ["Hold"]},
}
ORDERS: dict[str, Any] = {
    "kind": "order-lines",
    "source": "shop",
    "channel": "Web",
    "currency": ["USD", "EUR"],
    "columns": {
        "date": "Date",
        "order": "Order",
        "item": "Item",
        "quantity": "Pieces",
        "unit-price": "Each",
    },
}


def changed(table: dict[str, Any], path: str, value: object) -> dict[str, Any]:
    """Return a layout's table with one value changed; None takes it out."""
    result = copy.deepcopy(table)
    inner = result
    *sections, key = path.split("/")
    for section in sections:
        inner = inner.setdefault(section, {})
    if value is None:
        del inner[key]
    else:
        inner[key] = value
    return result


def test_shipped_layouts() -> None:
    assert {name: layout.kind for name, layout in shipped_layouts().items()} == {
        "bank-statement": "bank",
        "card-payments": "payments",
        "label-purchases": "payments",
        "market-orders": "order-lines",
        "market-payments": "payments",
        "shop-orders": "order-lines",
        "tally-sheet": "tally",
        "wholesale-invoices": "order-lines",
    }


@pytest.mark.parametrize("name", ["card-payments", "shop-orders", "tally-sheet"])
def test_example_in_a_shipped_layouts_comment_has_its_columns(name: str) -> None:
    layout = shipped_layouts()[name]
    folder = Path(layout_schema.__file__).parent / "layouts"
    comment = [
        line.removeprefix("# ")
        for line in (folder / f"{name}.toml").read_text().splitlines()
        if line.startswith("#")
    ]

    assert ",".join(layout.headers) in comment


def test_smallest_layouts_have_the_usual_rest() -> None:
    payments = layout_of("small", PAYMENTS, "small.toml")

    assert payments.currencies == ("USD",)
    assert payments.file == (("utf-8",), ",", 0, ())
    assert (payments.dates, payments.locale) == (("%Y-%m-%d",), "en_US")
    assert (payments.fee_sign, payments.discount_sign) == (1, 1)
    assert payments.types == {"sale": "sale", "hold": None}
    assert payments.accounts._asdict() == {
        "clearing": "Assets:Clearing:Card",
        "fees": "Expenses:Fees:Card",
        "dispute_fees": "Expenses:Fees:Card",
        "payout": "Assets:Clearing:Payouts",
        "held": "Assets:Held:Card",
        "sales": "Income:Sales:Web",
        "shipping": "Income:Shipping:Web",
        "discounts": "Income:Discounts:Web",
        "refunds": "Income:Refunds:Web",
        "disputes": "Income:Refunds:Web",
        "tips": "Income:Tips:Web",
        "gift_cards": "Liabilities:GiftCards",
        "deposits": "Liabilities:Deposits",
        "suspense": "Income:Suspense:Web",
        "receivable": "Assets:Receivable:Web",
        "tax": "Liabilities:SalesTax",
        "tax_remitted": "Assets:Clearing:RemittedTax:Web",
        "postage": "Expenses:Postage:Card",
        "giveaways": "Expenses:Marketing:Giveaways",
    }
    assert layout_of("small", ORDERS, "small.toml").repeated


def test_accounts_of_the_users_own() -> None:
    table = changed(PAYMENTS, "accounts/clearing", "Assets:Bank:Card")

    layout = layout_of("own", table, "own.toml")

    assert layout.accounts.clearing == "Assets:Bank:Card"
    assert layout.accounts.fees == "Expenses:Fees:Card"


@pytest.mark.parametrize(
    ("table", "path", "value", "mistake"),
    [
        (PAYMENTS, "kind", None, "kind is missing, expected one of payments, order-lines"),
        (PAYMENTS, "kind", "payment", "kind: expected one of payments, order-lines, bank"),
        (PAYMENTS, "chanel", "Web", "unknown key 'chanel' (did you mean channel?)"),
        (PAYMENTS, "zzz", 1, "unknown key 'zzz' (known: kind, source, channel"),
        (PAYMENTS, "source", "Card", "source: expected a lower-case word such as card"),
        (PAYMENTS, "source", "../card", "source: expected a lower-case word such as card"),
        (PAYMENTS, "channel", "my web", "channel: expected a part of an account's name"),
        (PAYMENTS, "currency", "dollars", 'currency: expected a currency such as "USD"'),
        (PAYMENTS, "currency", [], 'currency: expected a currency such as "USD"'),
        (PAYMENTS, "columns", "Date", "columns: expected a table, found 'Date'"),
        (
            PAYMENTS,
            "columns/grose",
            "x",
            "[columns] unknown key 'grose' (did you mean gross?)",
        ),
        (PAYMENTS, "columns/item", "x", "[columns] unknown key 'item' in payments"),
        (PAYMENTS, "columns/date", None, "[columns] date is missing"),
        (PAYMENTS, "columns/gross", None, "[columns] gross or net is missing"),
        (PAYMENTS, "columns/gross", "", "[columns] gross: expected a text, found ''"),
        (PAYMENTS, "columns/type", None, "[types] default is missing"),
        (
            PAYMENTS,
            "types",
            None,
            "[types] is missing, expected the words of the type column",
        ),
        (PAYMENTS, "types/default", "sale", "[types] default has no place where"),
        (
            PAYMENTS,
            "types/sales",
            ["x"],
            "[types] unknown key 'sales' (did you mean sale?)",
        ),
        (
            PAYMENTS,
            "types/fee",
            "Fee",
            "[types] fee: expected a list of texts, found 'Fee'",
        ),
        (
            PAYMENTS,
            "types/fee",
            ["SALE "],
            "[types] the word 'SALE ' stands in both sale and",
        ),
        (
            PAYMENTS,
            "file/delimiter",
            ",,",
            '[file] delimiter: expected one character, "tab"',
        ),
        (
            PAYMENTS,
            "file/delimiter",
            '"',
            '[file] delimiter: expected one character, "tab"',
        ),
        (
            PAYMENTS,
            "file/preamble",
            -1,
            "[file] preamble: expected a whole number, 0 or more",
        ),
        (PAYMENTS, "file/preamble", True, "[file] preamble: expected a whole number, 0 or"),
        (
            PAYMENTS,
            "file/encoding",
            "utf8x",
            "[file] encoding: expected the name of an enc",
        ),
        (
            PAYMENTS,
            "file/encoding",
            "base64",
            "[file] encoding: expected the name of an enc",
        ),
        (PAYMENTS, "file/names", ["Date"], "[columns] type: 'Type' is not in [file] names"),
        (
            PAYMENTS,
            "forms/locale",
            "xx_YY",
            "[forms] locale: expected a locale such as en_US",
        ),
        (PAYMENTS, "forms/fee", "minus", "[forms] fee: expected one of positive, negative"),
        (
            PAYMENTS,
            "forms/date",
            5,
            "[forms] date: expected a text or a list of texts, found",
        ),
        (
            PAYMENTS,
            "forms/date",
            "%Y-%m",
            "[forms] date: expected a form with day, month and",
        ),
        (PAYMENTS, "forms/date", "%Q", "[forms] date: expected a form with day, month and"),
        (PAYMENTS, "orders/prefix", "a b", "[orders] prefix: expected letters, digits and"),
        (PAYMENTS, "accounts/tax", "Taxes", "[accounts] tax: expected an account such as"),
        (
            PAYMENTS,
            "accounts/fee",
            "Expenses:Fees",
            "[accounts] unknown key 'fee' (did you",
        ),
        (PAYMENTS, "leave-out", {}, "leave-out: expected tables, each begun with"),
        (PAYMENTS, "leave-out", [{}], "[[leave-out]] column is missing, expected a text"),
        (
            PAYMENTS,
            "leave-out",
            [{"column": "Type", "reason": "x"}],
            "[[leave-out]] expected one of equals and matches",
        ),
        (
            PAYMENTS,
            "leave-out",
            [{"column": "Type", "reason": "x", "matches": "("}],
            "[[leave-out]] matches: expected a regular expression, found '('",
        ),
        (ORDERS, "columns/item", None, "[columns] item is missing"),
        (
            ORDERS,
            "columns/amount",
            "Total",
            "[columns] expected one of unit-price and amount",
        ),
        (
            ORDERS,
            "columns/unit-price",
            None,
            "[columns] expected one of unit-price and amount",
        ),
        (ORDERS, "columns/fee", "Fee", "[columns] unknown key 'fee' in order-lines"),
        (ORDERS, "types/sale", ["Sale"], "[types] has no place in a layout of order-lines"),
        (
            ORDERS,
            "orders/amounts",
            "once",
            "[orders] amounts: expected one of every-line, add",
        ),
    ],
)
def test_mistakes(table: dict[str, Any], path: str, value: object, mistake: str) -> None:
    assert layout_schema.mistakes(table) == []

    found = layout_schema.mistakes(changed(table, path, value))

    assert any(each.startswith(mistake) for each in found), found


def test_every_mistake_is_named_with_the_file(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('kind = "payments"\nsource = "X"\nchannel = "Web"\n')

    with pytest.raises(ImportRefused) as caught:
        read_layout(path)

    lines = [str(problem) for problem in caught.value.problems]
    assert len(lines) == 3  # currency, columns, source
    assert all(line.startswith("mine.toml: layout mine: ") for line in lines)


@pytest.mark.parametrize(
    ("contents", "message"),
    [
        (b"kind = ", "expected TOML in utf-8"),
        (b'kind = "caf\xe9"', "expected TOML in utf-8"),
        (None, "the layout cannot be read (No such file or directory)"),
    ],
)
def test_file_that_is_no_layout(
    tmp_path: Path, contents: bytes | None, message: str
) -> None:
    path = tmp_path / "mine.toml"
    if contents is not None:
        path.write_bytes(contents)

    with pytest.raises(ImportRefused) as caught:
        read_layout(path)

    assert message in str(caught.value)


def test_keys_of_the_schema_are_those_of_the_layouts_that_ship() -> None:
    folder = Path(layout_schema.__file__).parent / "layouts"
    for path in folder.glob("*.toml"):
        assert layout_schema.mistakes(tomllib.loads(path.read_text())) == [], path.name
