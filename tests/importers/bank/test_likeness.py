"""What a row of a bank may be is proposed by its likeness, and never booked."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.bank.likeness import Precedent, nearest, words_of
from offcut.importers.bank.rules import BankRule
from tests.importers.bank.bank_shop import BANK, SUSPENSE, bank_shop, statement
from tests.importers.shop import Shop

DAY = datetime.date(2025, 3, 4)


def before(what: str, account: str, days: int = 30, comes_in: bool = False) -> Precedent:
    day = DAY - datetime.timedelta(days)
    return Precedent(day, what, words_of(what), account, comes_in)


def like(text: str, *among: Precedent) -> str | None:
    found = nearest(words_of(text), False, DAY, among)
    return found and found.account


def test_words_are_folded_and_have_no_digits() -> None:
    assert words_of("PAPER Mill 4411", "inv.7b, straße") == {
        "paper",
        "mill",
        "inv",
        "strasse",
    }


def test_the_most_like_one() -> None:
    mill = before("Paper Mill Ltd", "Expenses:Materials")
    host = before("Web host", "Expenses:Hosting")

    assert like("Paper Mill 4411", host, mill) == "Expenses:Materials"
    assert like("Paper Mill 4411", mill, host) == "Expenses:Materials"


@pytest.mark.parametrize(
    ("text", "is_like"),
    [
        ("Paper", True),  # 2 of 3
        ("Paper one two", False),  # 2 of 5
        ("Paper one", True),  # 2 of 4
        ("4411", False),
        ("", False),
    ],
)
def test_half_of_the_words_are_needed(text: str, is_like: bool) -> None:
    found = like(text, before("Paper Mill", "Expenses:Materials"))

    assert (found is not None) is is_like


def test_a_tie_is_no_proposal() -> None:
    one, other = before("Paper Mill", "Expenses:A", 40), before("Paper Mill", "Expenses:B")

    assert like("Paper Mill", one, other) is None
    assert like("Paper Mill", one, before("Paper Mill", "Expenses:A")) == "Expenses:A"


def test_the_other_direction_and_later_days_are_no_model() -> None:
    assert like("Paper Mill", before("Paper Mill", "Expenses:A", comes_in=True)) is None
    assert like("Paper Mill", before("Paper Mill", "Expenses:A", days=-1)) is None


MILL = "2025-03-04,Paper Mill,Invoice 4411,-84.20,USD,B1"
BY_HAND = """\
1970-01-01 open Assets:Bank:Checking
1970-01-01 open Expenses:Materials
2025-02-03 * "Paper Mill Ltd" "Invoice 4101"
  Expenses:Materials     60.00 USD
  Assets:Bank:Checking
"""


def test_proposal_is_listed_and_not_booked(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path, ledger=BY_HAND)

    report = shop.run(statement(shop, MILL))

    (proposal,) = report.bank.unmatched
    assert proposal.like is not None
    assert (proposal.like.what, proposal.like.account) == (
        "Paper Mill Ltd",
        "Expenses:Materials",
    )
    assert proposal.rule == BankRule("Paper Mill", "Expenses:Materials", "")
    assert shop.balances() == {
        BANK: Decimal("-144.20"),
        "Expenses:Materials": Decimal("60.00"),
        SUSPENSE: Decimal("84.20"),
    }
    # Nor at the next import, with the earlier one of the same file beside it.
    again = "2025-04-04,Paper Mill,Invoice 4500,-9.00,USD,B2"
    shop.run(statement(shop, MILL, again))
    assert shop.balances()[SUSPENSE] == Decimal("93.20")


@pytest.mark.parametrize(
    "row",
    [
        MILL,
        MILL.replace("Paper Mill,", ","),
        "2025-03-04,,Invoice 4411/25 * Paper Mill 7,-84.20,USD,B1",
    ],
)
def test_proposed_rule_books_such_rows(tmp_path: Path, row: str) -> None:
    shop = bank_shop(tmp_path, ledger=BY_HAND)
    row = row.replace("Invoice", "Invoice Paper Mill")
    (proposal,) = shop.run(statement(shop, row)).bank.unmatched
    assert proposal.rule is not None

    rules = (
        f'[[bank]]\ntext = "{proposal.rule.text}"\naccount = "{proposal.rule.account}"\n'
    )
    other = bank_shop(tmp_path / "other", rules, BY_HAND)
    for text in (row, row.replace("4411", "5522").replace("B1", "B2")):
        assert other.run(statement(other, text)).bank.unmatched == ()


def booked_as(tmp_path: Path, postings: str) -> Shop:
    return bank_shop(
        tmp_path,
        ledger=f"""\
1970-01-01 open Assets:Bank:Checking
1970-01-01 open Expenses:Materials
1970-01-01 open Expenses:Other
1970-01-01 open Assets:Materials:VINYL
1970-01-01 open Assets:Receivable:Wholesale
2025-02-03 * "Paper Mill" "Invoice 4101"
{postings}
""",
    )


@pytest.mark.parametrize(
    "postings",
    [
        # A rule cannot book a lot, nor split a row, nor say which order was paid.
        "  Assets:Materials:VINYL  9 VINYL {6.00 USD}\n  Assets:Bank:Checking  -54.00 USD",
        "  Expenses:Materials  5 USD\n  Expenses:Other  6 USD\n  Assets:Bank:Checking",
        "  Assets:Receivable:Wholesale  5 USD\n  Assets:Bank:Checking  -5 USD",
    ],
)
def test_what_a_rule_cannot_book_is_no_model(tmp_path: Path, postings: str) -> None:
    shop = booked_as(tmp_path, postings)

    (proposal,) = shop.run(statement(shop, MILL)).bank.unmatched

    assert proposal.like is None
