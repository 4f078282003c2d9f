"""What `offcut.toml`, beside the ledger, says about imports.

    [[items]]                             # the first rule whose text fits wins
    text = "Heron at Dusk sticker*"       # over the whole item text; * and ? as in a shell
    product = "HERON-STK"
    [[items]]
    text = "Night walk set*"
    products = ["HERON-STK", "2 MOTH-STK"]   # a bundle: one text, several products
    [[items]]
    text = "Gift wrap"
    account = "Income:Shipping:Web"       # a line that is no product
    [[bank]]                              # what a row of a bank is: see `bank.rules`
    text = "Paper Mill*"
    account = "Expenses:Materials"
    [packing]
    Web = "letter"                        # how an order of a channel is packed
    [fair]                                # accounts of a fair's day: see `fair.accounts`
    cash = "Assets:Cash"
    [close]                               # the month-end list: see `close_settings`
    count-every-months = 3                # how often each item of stock is counted
    receivable-days = 30                  # when what is owed or held is to be asked for
    not-expected = ["label-shop"]         # sources whose files do not come every month
    [plan]                                # for decisions: see `reports.plan.plan_settings`
    hour = 18.00
    [layouts.my-shop]                     # a layout; or a file, layouts/my-shop.toml
    kind = "payments"

All of it is optional.
"""

from __future__ import annotations

import dataclasses
import difflib
import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

from beancount.core.account import is_valid as is_account

from offcut.importers.bank.rules import BankRule, bank_mistakes, bank_rules
from offcut.importers.close_settings import CloseSettings, close_mistakes, close_settings
from offcut.importers.fair.accounts import FairAccounts, fair_accounts, fair_mistakes
from offcut.importers.layout import Layout, layout_of, read_layout, with_doubts
from offcut.importers.problems import ImportRefused, Problem

FILE = "offcut.toml"
FOLDER = "layouts"

_RULE_KEYS = ("text", "product", "products", "account")
# What begins a table of a layout.
_LAYOUT = re.compile(r"""\[{1,2}\s*layouts\s*\.\s*("[^"]*"|'[^']*'|[\w-]+)""")
_COUNTED = re.compile("(0*[1-9][0-9]{0,5} +)?[^ ]+")


class ItemRule(NamedTuple):
    """What an item text means.

    Attributes:
      text: A shell-style pattern over the whole text, in which case does not count.
      product: The commodity that it is; empty where it is no product, or several.
      account: The income account of what is no product; empty where it is one.
      products: The commodities that it is several of, and how many of each.
    """

    text: str
    product: str
    account: str
    products: tuple[tuple[Decimal, str], ...] = ()


@dataclasses.dataclass(frozen=True)
class Settings:
    """What is set for imports into one ledger.

    Attributes:
      path: The file of settings; None where there is none.
      items: The rules for item texts, the first that fits wins.
      layouts: The user's own layouts, by name.
      packing: The packing list of each channel's orders, by channel.
      bank: The rules for the rows of banks, the first that fits wins.
      fair: Where the money of a fair's day goes.
      close: What the month-end list asks for.
    """

    path: Path | None = None
    items: tuple[ItemRule, ...] = ()
    layouts: Mapping[str, Layout] = dataclasses.field(default_factory=dict)
    packing: Mapping[str, str] = dataclasses.field(default_factory=dict)
    bank: tuple[BankRule, ...] = ()
    fair: FairAccounts = dataclasses.field(default_factory=FairAccounts)
    close: CloseSettings = dataclasses.field(default_factory=CloseSettings)


def load_settings(ledger: Path) -> Settings:
    """Return the settings beside a ledger; the usual ones where it has none.

    Args:
      ledger: The path of the main ledger file.

    Raises:
      ImportRefused: The settings, or a layout among them, have mistakes.
    """
    path = ledger.parent / FILE
    layouts = {
        file.stem: read_layout(file)
        for file in sorted((ledger.parent / FOLDER).glob("*.toml"))
    }
    if not path.exists():
        return Settings(layouts=layouts)
    table = settings_table(ledger)
    mistakes = _mistakes(table)
    if mistakes:
        raise ImportRefused(
            Problem(FILE, None, None, f"{mistake}; correct the settings")
            for mistake in mistakes
        )
    texts = _layout_texts(path)
    for name, layout in table.get("layouts", {}).items():
        layouts[name] = with_doubts(layout_of(name, layout, FILE), texts.get(name, ""))
    return Settings(
        path,
        tuple(
            ItemRule(
                rule["text"],
                rule.get("product", ""),
                rule.get("account", ""),
                tuple(map(_counted, rule.get("products", ()))),
            )
            for rule in table.get("items", ())
        ),
        layouts,
        dict(table.get("packing", {})),
        bank_rules(table),
        fair_accounts(table),
        close_settings(table),
    )


def _layout_texts(path: Path) -> dict[str, str]:
    """Return the lines of each layout in settings, up to what begins another table."""
    found: dict[str, str] = {}
    name = ""
    for line in path.read_text("utf-8-sig").splitlines(keepends=True):
        if line.lstrip().startswith("["):
            header = _LAYOUT.match(line.lstrip())
            name = header[1].strip("\"'") if header else ""
        if name:
            found[name] = found.get(name, "") + line
    return found


def settings_table(ledger: Path) -> dict[str, Any]:
    """Return the whole of the settings beside a ledger, numbers as Decimals.

    Args:
      ledger: The path of the main ledger file.

    Returns:
      The settings as they are written; nothing where the ledger has none.

    Raises:
      ImportRefused: They are no TOML.
    """
    path = ledger.parent / FILE
    if not path.exists():
        return {}
    try:
        return tomllib.loads(path.read_text("utf-8-sig"), parse_float=Decimal)
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        message = f"expected TOML in utf-8: {error}; correct the settings"
        raise ImportRefused([Problem(FILE, None, None, message)]) from error


def _counted(text: str) -> tuple[Decimal, str]:
    """Return how many of which commodity one of a rule's products is: "2 MOTH-STK"."""
    count, _, product = text.rpartition(" ")
    return Decimal(count.strip() or 1), product


def _is_counted(value: object) -> bool:
    return isinstance(value, str) and _COUNTED.fullmatch(value) is not None


def _mistakes(table: Mapping[str, Any]) -> list[str]:
    """Return what is wrong with the parts of the settings that imports read."""
    found = []
    # Other parts of offcut read tables of their own here: only what is nearly one of
    # ours is taken for a slip of the pen.
    ours = ("items", "bank", "close", "fair", "layouts", "packing", "plan")
    for key in table.keys() - set(ours):
        if near := difflib.get_close_matches(key, ours, n=1, cutoff=0.8):
            found.append(f"unknown table {key!r} (did you mean {near[0]}?)")
    rules = table.get("items", [])
    if not isinstance(rules, list):
        found.append("items: expected rules, each begun with [[items]]")
        rules = []
    for number, rule in enumerate(rules, 1):
        found.extend(
            f"[[items]] rule {number}: {mistake}" for mistake in _rule_mistakes(rule)
        )
    found.extend(bank_mistakes(table))
    found.extend(fair_mistakes(table))
    found.extend(close_mistakes(table))
    layouts = table.get("layouts", {})
    if not (
        isinstance(layouts, dict) and all(isinstance(e, dict) for e in layouts.values())
    ):
        found.append("layouts: expected tables, each begun with [layouts.NAME]")
    packing = table.get("packing", {})
    if not isinstance(packing, dict) or not all(
        isinstance(e, str) for e in packing.values()
    ):
        found.append(
            '[packing]: expected a packing list for a channel, as in Web = "letter"'
        )
    return found


def _rule_mistakes(rule: object) -> list[str]:
    if not isinstance(rule, dict):
        return ['expected a table with text = "..." and product = "..."']
    found = []
    for key, value in rule.items():
        if key not in _RULE_KEYS:
            near = difflib.get_close_matches(key, _RULE_KEYS, n=1, cutoff=0.7)
            hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(_RULE_KEYS)}"
            found.append(f"unknown key {key!r} ({hint})")
        elif key == "products":
            if not isinstance(value, list) or not value or not all(map(_is_counted, value)):
                found.append(
                    'products: expected a list such as ["HERON-STK", "2 MOTH-STK"], found '
                    f"{value!r}"
                )
        elif not isinstance(value, str) or not value:
            found.append(f"{key}: expected a text, found {value!r}")
    if "text" not in rule:
        found.append(
            'text is missing, expected the item text, as in text = "Heron sticker*"'
        )
    if len({"product", "products", "account"} & rule.keys()) != 1:
        found.append("expected one of product, products and account")
    if isinstance(rule.get("account"), str) and not is_account(rule["account"]):
        found.append(
            f"account: expected an account such as Income:Shipping:Web, found "
            f"{rule['account']!r}"
        )
    return found
