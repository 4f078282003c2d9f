"""Whatever a ledger holds, its reports add up to it."""

from __future__ import annotations

import datetime
import random
from collections import defaultdict
from decimal import Decimal
from typing import Any

from beancount import loader
from beancount.core import data
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.allocation import RULES, Rule
from offcut.reports.books import Books
from offcut.reports.exact_sums import PLACES
from offcut.reports.order_columns import COLUMNS, TRANSACTION, WHOLE_COLUMNS
from offcut.reports.order_table import order_table
from offcut.reports.period import Period, choose_period
from offcut.reports.profit import ALL_GROUPINGS, profit_of, profit_reports

ITEMS = ("HERON-STK", "HERON-PRT", "MOTH-STK", "LOOSE-STK", "VINYL")
HEAD = """
option "operating_currency" "USD"
2024-01-01 commodity HERON-STK
  stock: "product"
  design: "Heron"
  weight: 3
2024-01-01 commodity HERON-PRT
  stock: "product"
  design: "Heron"
  weight: 62.5
2024-01-01 commodity MOTH-STK
  stock: "product"
2024-01-01 commodity VINYL
  stock: "material"
"""
ACCOUNTS = (
    "Assets:Cash",
    "Income:Sales:Web",
    "Income:Sales:Fair",
    "Income:Suspense:Web",
    "Income:Shipping:Web",
    "Income:Discounts:Web",
    "Income:Refunds:Web",
    "Income:Tips:Fair",
    "Income:Interest",
    "Expenses:Fees:Card",
    "Expenses:Postage",
    "Expenses:Packaging:Mailers",
    "Expenses:COGS",
    "Expenses:Events:TableFee",
    "Expenses:Marketing:Advertising",
    "Expenses:Marketing:Giveaways",
    "Expenses:Spoilage:MOTH-STK",
    "Expenses:Shrinkage:VINYL",
)
# Which accounts a column of the table sums, told apart from how offcut finds out.
COLUMN_ACCOUNTS = {
    "sales": ("Income:Sales", "Income:Suspense", "Income:Discounts", "Income:Refunds"),
    "shipping": ("Income:Shipping",),
    "fees": ("Expenses:Fees",),
    "postage": ("Expenses:Postage",),
    "packaging": ("Expenses:Packaging",),
    "cost_of_goods": ("Expenses:COGS",),
    "giveaways": ("Expenses:Marketing:Giveaways",),
    "spoilage": ("Expenses:Spoilage", "Expenses:Shrinkage"),
    "selling": ("Expenses:Events", "Expenses:Marketing:Advertising"),
    "other": ("Income:Tips", "Income:Interest"),
}

# What the columns are called in the reports.
FIGURES = {
    **{column: column for column in COLUMN_ACCOUNTS},
    "cost_of_goods": "goods",
}

cents = st.integers(0, 5000).map(lambda number: Decimal(number) / 100)
costs = st.one_of(cents, st.integers(1, 10**9).map(lambda number: Decimal(number) / 10**7))
dates = st.dates(datetime.date(2025, 1, 1), datetime.date(2025, 12, 31))
currencies = st.sampled_from(["USD", "USD", "USD", "EUR", "JPY"])
numbers = st.integers(1, 4)


def posting(account: str, amount: Decimal, currency: str, **meta: str) -> str:
    lines = [f"  {account}  {amount:f} {currency}"]
    lines += [f'    {key.replace("_", "-")}: "{value}"' for key, value in meta.items()]
    return "\n".join(lines)


@st.composite
def sale_postings(draw: st.DrawFn) -> list[str]:
    """Draw the postings of an order: lines, and what they share."""
    currency = draw(currencies)
    channel = draw(st.sampled_from(["Web", "Fair"]))
    postings = []
    for item in draw(st.lists(st.sampled_from(ITEMS), min_size=1, max_size=4)):
        quantity = str(draw(st.integers(1, 9)))
        postings.append(
            posting(
                f"Income:Sales:{channel}",
                -draw(cents),
                currency,
                item=item,
                quantity=quantity,
            )
        )
        if draw(st.booleans()):
            postings.append(posting("Expenses:COGS", draw(costs), currency, item=item))
        if draw(st.booleans()):
            amount = draw(cents)
            postings.append(posting("Income:Discounts:Web", amount, currency, item=item))
    if draw(st.booleans()):
        postings.append(
            posting(
                *("Income:Suspense:Web", -draw(cents), currency),
                item_text="Bundle",
                quantity="2",
            )
        )
    for account, amounts, sign in (
        ("Income:Shipping:Web", cents, -1),
        ("Expenses:Fees:Card", cents, 1),
        ("Expenses:Packaging:Mailers", costs, 1),
        ("Income:Tips:Fair", cents, -1),
    ):
        if draw(st.booleans()):
            postings.append(posting(account, sign * draw(amounts), draw(currencies)))
    return postings


@st.composite
def later_postings(draw: st.DrawFn) -> list[str]:
    """Draw what comes after an order, or without one."""
    account, sign = draw(
        st.sampled_from(
            [
                ("Expenses:Postage", 1),
                ("Expenses:Fees:Card", -1),
                ("Income:Refunds:Web", 1),
                ("Income:Suspense:Web", -1),
                ("Income:Interest", -1),
                ("Expenses:COGS", 1),
                ("Expenses:Events:TableFee", 1),
                ("Expenses:Events:TableFee", 1),
                ("Expenses:Marketing:Advertising", 1),
                ("Expenses:Marketing:Giveaways", 1),
                ("Expenses:Spoilage:MOTH-STK", 1),
                ("Expenses:Shrinkage:VINYL", 1),
            ]
        )
    )
    meta = draw(
        st.sampled_from(
            [
                *({}, {}),
                *({"item": item} for item in ITEMS),
                *({"channel": channel} for channel in ("Web", "Fair", "Market")),
            ]
        )
    )
    if account == "Income:Refunds:Web" and "item" in meta and draw(st.booleans()):
        meta = {**meta, "quantity": "1"}
    return [posting(account, sign * draw(costs), draw(currencies), **meta)]


@st.composite
def ledgers(draw: st.DrawFn) -> str:
    """Draw a ledger."""
    texts = [HEAD, *(f"2024-01-01 open {account}" for account in ACCOUNTS)]
    for _ in range(draw(st.integers(0, 12))):
        postings = draw(st.one_of(sale_postings(), later_postings()))
        links = "".join(
            f" ^order-{number}" for number in draw(st.sets(numbers, max_size=2))
        )
        tag = draw(st.sampled_from(["", " #event-harbour-fair"]))
        texts.append(f'{draw(dates)} * "x"{links}{tag}')
        texts += postings
        texts.append("  Assets:Cash")
    return "\n".join(texts) + "\n"


def load(text: str) -> tuple[data.Directives, Any]:
    entries, errors, options = loader.load_string(text)
    # Two currencies need a balancing leg each: beancount fills in as many as it needs.
    assert not errors, errors
    return entries, options


def account_sums(
    entries: data.Directives, period: Period
) -> dict[tuple[str, str], Decimal]:
    """Return what each column of each currency must come to, from the accounts alone."""
    sums: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for entry in entries:
        if isinstance(entry, data.Transaction) and entry.date in period:
            for leg in entry.postings:
                for column, accounts in COLUMN_ACCOUNTS.items():
                    if leg.account.startswith(accounts):
                        sums[column, leg.units.currency] -= leg.units.number
    return {key: total for key, total in sums.items() if total}


@st.composite
def periods(draw: st.DrawFn) -> Period:
    first, last = sorted([draw(dates), draw(dates)])
    return Period(draw(st.sampled_from([None, first])), draw(st.sampled_from([None, last])))


@settings(max_examples=50, deadline=None)
@given(ledgers(), periods(), st.sampled_from(RULES))
def test_reports_add_up_to_the_ledger(text: str, period: Period, rule: Rule) -> None:
    entries, options = load(text)
    sums = account_sums(entries, period)
    for currency in ("USD", "EUR", "JPY"):
        income = sum(total for (_, of), total in sums.items() if of == currency)
        reports = profit_reports(entries, options, period, currency, ALL_GROUPINGS, rule)
        assert {*reports.elsewhere} <= {"USD", "EUR", "JPY"} - {currency}
        assert list(reports.reports) == list(ALL_GROUPINGS)
        for report in reports.reports.values():
            assert report.total.contribution == report.tie.ledger == income
            assert report.tie.holds
            shown = [line.figures for line in (*report.lines, *report.unallocated)]
            assert sum(one.contribution for one in shown) == income
            # Not only the sum: what is shared out stays in its own column.
            for column, name in FIGURES.items():
                assert sum(getattr(one, name) for one in shown) == sums.get(
                    (column, currency), 0
                )
            for line in report.lines:
                if line.parts:
                    parts = sum(part.figures.contribution for part in line.parts)
                    assert parts == line.figures.contribution


@settings(max_examples=40, deadline=None)
@given(ledgers(), st.sampled_from(RULES))
def test_months_add_up_to_all_dates(text: str, rule: Rule) -> None:
    """Each shared cost is split by itself, whatever the days that are reported on."""
    entries, options = load(text)
    books = Books(entries, options)
    whole = profit_of(books, Period(), "USD", ALL_GROUPINGS, rule)
    months = [
        profit_of(
            books, choose_period(month=f"2025-{month:02}"), "USD", ALL_GROUPINGS, rule
        )
        for month in range(1, 13)
    ]
    for grouping in ALL_GROUPINGS:
        summed: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
        for reports in months:
            for line in reports.reports[grouping].lines:
                summed[line.name, line.channel] += line.figures.contribution
        assert {key: total for key, total in summed.items() if total} == {
            (line.name, line.channel): line.figures.contribution
            for line in whole.reports[grouping].lines
            if line.figures.contribution
        }


@settings(max_examples=80, deadline=None)
@given(ledgers(), st.sampled_from(RULES), st.booleans())
def test_columns_add_up_to_their_accounts(text: str, rule: Rule, shared: bool) -> None:
    entries, options = load(text)
    books = Books(entries, options)
    table = books.allocated(rule) if shared else books.table_by(rule)
    assert set(COLUMNS) <= set(table.columns) <= {*COLUMNS, TRANSACTION, *WHOLE_COLUMNS}
    for name in table.columns:
        if name in WHOLE_COLUMNS:
            grains = [Decimal(int(number)).scaleb(-PLACES) for number in table[name]]
            assert grains == table[name.removeprefix("whole_")].tolist()
    assert table["date"].tolist() == sorted(table["date"])
    found = {
        (column, currency): total
        for currency, group in table.groupby("currency")
        for column in COLUMN_ACCOUNTS
        if (total := sum(group[column]))
    }
    assert found == account_sums(entries, Period())


@settings(max_examples=60, deadline=None)
@given(ledgers(), st.randoms(use_true_random=False))
def test_order_of_the_entries_does_not_matter(text: str, order: random.Random) -> None:
    entries, options = load(text)
    shuffled = list(entries)
    order.shuffle(shuffled)
    for rule in RULES:
        before = profit_reports(entries, options, Period(), "USD", ALL_GROUPINGS, rule)
        after = profit_reports(shuffled, options, Period(), "USD", ALL_GROUPINGS, rule)
        assert after == before


@settings(max_examples=60, deadline=None)
@given(ledgers())
def test_amounts_of_a_row_add_up_to_its_contribution(text: str) -> None:
    entries, options = load(text)
    table = order_table(entries, options)
    columns = ["sales", *list(COLUMN_ACCOUNTS)[1:]]
    for _, row in table.iterrows():
        assert sum(row[column] for column in columns) == row["contribution"]
        assert row["gross"] + row["discount"] + row["refund"] == row["sales"]
