"""A layout: how the columns of one kind of file become records.

A layout is a TOML file. The smallest one for payments:

    kind = "payments"
    source = "card"
    channel = "Web"
    currency = "USD"
    [columns]
    date = "Date"
    gross = "Amount"
    [types]
    default = "sale"

DEVELOPERS.md lists every key. The layouts that offcut ships are in `layouts/`.
"""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal, NamedTuple

from offcut.importers import layout_schema as schema
from offcut.importers.problems import ImportRefused, Problem

# As `offcut layout` marks what a file does not tell.
_DOUBT = re.compile(r"^[ \t]*# *DOUBT:", re.MULTILINE)

Kind = Literal["payments", "order-lines", "bank", "tally"]
Movement = Literal[
    "sale",
    "refund",
    "fee",
    "payout",
    "dispute",
    "dispute-fee",
    "reversal",
    "hold",
    "release",
    "tip",
    "gift-card-sale",
    "gift-card-use",
    "deposit",
    "tax-remitted",
    "conversion",
    "postage",
    "adjustment",
    "bank",
]


class FileForm(NamedTuple):
    """How the bytes of a file become rows.

    Attributes:
      encodings: Encodings to try in turn; the first that reads the whole file is its.
      delimiter: One character, or "spaces" for a run of blanks.
      preamble: Lines before the header.
      names: The columns of a file that has no header; empty where it has one.
    """

    encodings: tuple[str, ...]
    delimiter: str
    preamble: int
    names: tuple[str, ...]


class RowRule(NamedTuple):
    """What is said of the rows that have a certain cell.

    Attributes:
      column: The header of the column looked at.
      equals: The whole cell, blanks around it aside; None where `matches` is given.
      matches: An expression that the whole cell matches; None where `equals` is given.
      says: Why such rows are left out, or the account that they are booked to.
    """

    column: str
    equals: str | None
    matches: re.Pattern[str] | None
    says: str

    def fits(self, cell: str) -> bool:
        """Return whether a cell, blanks around it dropped, is the rule's."""
        if self.matches:
            return self.matches.fullmatch(cell) is not None
        return cell == (self.equals or "").strip()


class Accounts(NamedTuple):
    """The accounts that the records are booked to."""

    clearing: str
    fees: str
    dispute_fees: str
    payout: str
    held: str
    sales: str
    shipping: str
    discounts: str
    refunds: str
    disputes: str
    tips: str
    gift_cards: str
    deposits: str
    suspense: str
    receivable: str
    tax: str
    tax_remitted: str
    postage: str
    giveaways: str


@dataclasses.dataclass(frozen=True, eq=False)
class Layout:
    """How the columns of one kind of file become records. Each is equal to itself only.

    Attributes:
      name: The name to choose it by.
      kind: Movements of money, the lines of orders, a bank's statement, or a tally of
        what was sold at a fair.
      source: The slug that begins ids and the names of the files written: "card".
      channel: The channel that the sales belong to, a component of accounts: "Web".
      currencies: The currencies that may occur; the first where no column says.
      file: How bytes become rows.
      columns: The file's header texts by the names that offcut knows them by; several
        for what is made of several columns.
      dates: Forms of dates, as `strptime` takes them, tried in turn.
      date_locale: The CLDR locale whose names the months and days of dates have; empty
        for English ones.
      locale: The CLDR locale that says which marks numbers are written with.
      fee_sign: 1 where the file writes a fee charged as a positive number, else -1.
      debit_sign: 1 where the file writes what went out, in a column of its own, as a
        positive number, else -1.
      remitted_sign: 1 where the file writes tax kept back as a positive number, else -1.
      discount_sign: 1 where the file writes a reduction as a positive number, else -1.
      signs: "signed" or "unsigned", where the layout says whether amounts have signs or
        the type is their direction; empty where it does not say.
      types: What each word of the type column means, by the word in lower case; None
        for one to be left out.
      default_type: What every row is, in a file without a type column.
      repeated: Whether shipping and tax of the whole order stand on each of its lines.
      prefix: What is put before an order's number, to keep two channels' apart.
      several: What stands between the numbers where a cell has those of several orders;
        empty where it has one.
      cancelled: The words of the status column, in lower case, that say by themselves
        that an order, or a line of it, is cancelled.
      remits: Whether the marketplace pays over the sales tax that buyers are charged.
      totals: What tells a row of totals, which is checked; None where there is none.
      leave_out: Rows to leave out, those of totals among them.
      book_to: Rows to book to an account that the user chose.
      accounts: Where records are booked to.
      words: The words of the type column as the layout has them.
      doubts: How many marks of a doubt its proposal has still.
    """

    name: str
    kind: Kind
    source: str
    channel: str
    currencies: tuple[str, ...]
    file: FileForm
    columns: Mapping[str, tuple[str, ...]]
    dates: tuple[str, ...]
    date_locale: str
    locale: str
    fee_sign: int
    debit_sign: int
    remitted_sign: int
    discount_sign: int
    signs: str
    types: Mapping[str, Movement | None]
    default_type: Movement | None
    repeated: bool
    prefix: str
    several: str
    remits: bool
    totals: RowRule | None
    leave_out: tuple[RowRule, ...]
    book_to: tuple[RowRule, ...]
    accounts: Accounts
    words: tuple[str, ...] = ()
    doubts: int = 0
    cancelled: frozenset[str] = frozenset()

    @property
    def headers(self) -> list[str]:
        """All header texts that the layout names."""
        return [header for headers in self.columns.values() for header in headers]


def read_layout(path: Path) -> Layout:
    """Read the layout of a TOML file; its name is the file's.

    Raises:
      ImportRefused: The file cannot be read, or is not a layout.
    """
    try:
        text = path.read_text("utf-8-sig")
        table = tomllib.loads(text)
    except OSError as error:
        problem = (
            f"the layout cannot be read ({error.strerror}); give the path of a TOML file"
        )
        raise ImportRefused([Problem(str(path), None, None, problem)]) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        problem = f"expected TOML in utf-8: {error}; correct the layout"
        raise ImportRefused([Problem(str(path), None, None, problem)]) from error
    layout = layout_of(path.stem, table, path.name)
    return with_doubts(layout, text)


def with_doubts(layout: Layout, text: str) -> Layout:
    """Return a layout that knows of the marks of a doubt in its text.

    Args:
      layout: The layout.
      text: The lines of TOML that it was read from.
    """
    marks = len(_DOUBT.findall(text))
    return dataclasses.replace(layout, doubts=marks) if marks else layout


def layout_of(name: str, table: Mapping[str, Any], file: str) -> Layout:
    """Return the layout that a table of TOML describes.

    Args:
      name: The name to choose it by.
      table: What TOML reads.
      file: The file to name in problems.

    Raises:
      ImportRefused: The table is not a layout.
    """
    mistakes = schema.mistakes(table)
    if mistakes:
        raise ImportRefused(
            Problem(file, None, None, f"layout {name}: {mistake}; correct the layout")
            for mistake in mistakes
        )
    form, forms = table.get("file", {}), table.get("forms", {})
    types, orders = table.get("types", {}), table.get("orders", {})
    delimiter = form.get("delimiter", ",")
    totals = None
    if "totals" in table:
        rule = table["totals"]
        totals = RowRule(rule["column"], rule["equals"], None, "a row of totals")
    return Layout(
        name=name,
        kind=table["kind"],
        source=table["source"],
        channel=table.get("channel", "Bank"),
        currencies=_several(table["currency"]),
        file=FileForm(
            _several(form.get("encoding", "utf-8")),
            "\t" if delimiter == "tab" else delimiter,
            form.get("preamble", 0),
            tuple(form.get("names", ())),
        ),
        columns={key: _several(headers) for key, headers in table["columns"].items()},
        dates=_several(forms.get("date", "%Y-%m-%d")),
        date_locale=forms.get("date-locale", ""),
        locale=forms.get("locale", "en_US"),
        fee_sign=-1 if forms.get("fee") == "negative" else 1,
        debit_sign=-1 if forms.get("debit") == "negative" else 1,
        remitted_sign=-1 if forms.get("tax-remitted") == "negative" else 1,
        discount_sign=-1 if forms.get("discount") == "negative" else 1,
        signs=forms.get("amounts", ""),
        types={
            word.strip().casefold(): None if movement == "ignore" else movement
            for movement, words in types.items()
            if movement != "default"
            for word in words
        },
        default_type="bank" if table["kind"] == "bank" else types.get("default"),
        repeated=orders.get("amounts", "every-line") == "every-line",
        prefix=orders.get("prefix", ""),
        several=orders.get("several", ""),
        remits=orders.get("tax") == "remitted",
        totals=totals,
        leave_out=(
            *([totals] if totals else []),
            *_rules(table.get("leave-out", ()), "reason"),
        ),
        book_to=_rules(table.get("book-to", ()), "account"),
        accounts=_accounts(table),
        words=tuple(
            word.strip()
            for movement, words in types.items()
            if movement != "default"
            for word in words
        ),
        cancelled=frozenset(
            word.strip().casefold() for word in orders.get("cancelled", ())
        ),
    )


@cache
def shipped_layouts() -> Mapping[str, Layout]:
    """Return the layouts that come with offcut, by name."""
    folder = resources.files("offcut.importers.layouts")
    return {
        file.name.removesuffix(".toml"): layout_of(
            file.name.removesuffix(".toml"),
            tomllib.loads(file.read_text("utf-8")),
            file.name,
        )
        for file in sorted(folder.iterdir(), key=lambda file: file.name)
        if file.name.endswith(".toml")
    }


def _rules(rules: Iterable[Mapping[str, str]], says: str) -> tuple[RowRule, ...]:
    """Return rules about rows; `says` is the key of what they say."""
    return tuple(
        RowRule(
            rule["column"],
            rule.get("equals"),
            re.compile(rule["matches"]) if "matches" in rule else None,
            rule[says],
        )
        for rule in rules
    )


def _several(value: str | list[str]) -> tuple[str, ...]:
    """Return one text or a list of them as a tuple."""
    return (value,) if isinstance(value, str) else tuple(value)


def _accounts(table: Mapping[str, Any]) -> Accounts:
    """Return the accounts that a layout gives, and the usual ones for the others."""
    money = "".join(part.capitalize() for part in table["source"].split("-"))
    channel = table.get("channel", "Bank")
    bank = table["kind"] == "bank"
    usual = {
        "clearing": f"Assets:Bank:{money}" if bank else f"Assets:Clearing:{money}",
        "fees": f"Expenses:Fees:{money}",
        "dispute-fees": f"Expenses:Fees:{money}",
        "payout": "Assets:Clearing:Payouts",
        "held": f"Assets:Held:{money}",
        "sales": f"Income:Sales:{channel}",
        "shipping": f"Income:Shipping:{channel}",
        "discounts": f"Income:Discounts:{channel}",
        "refunds": f"Income:Refunds:{channel}",
        "disputes": f"Income:Refunds:{channel}",
        "tips": f"Income:Tips:{channel}",
        "gift-cards": "Liabilities:GiftCards",
        "deposits": "Liabilities:Deposits",
        "suspense": "Equity:Suspense" if bank else f"Income:Suspense:{channel}",
        "receivable": f"Assets:Receivable:{channel}",
        "tax": "Liabilities:SalesTax",
        "tax-remitted": f"Assets:Clearing:RemittedTax:{channel}",
        "postage": f"Expenses:Postage:{money}",
        "giveaways": "Expenses:Marketing:Giveaways",
    }
    accounts = {**usual, **table.get("accounts", {})}
    return Accounts(**{key.replace("-", "_"): value for key, value in accounts.items()})
