"""Which line of the form an account stands on, and what is wrong about `tax-line`."""

from __future__ import annotations

from typing import Any

from beancount.core import data

from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_lines import (
    TaxLine,
    TaxLines,
    accepted_words,
    check_tax_lines,
)

RULES = find_rules("us-federal", "2025")


def opens(ledger: Any) -> list[data.Open]:
    return [entry for entry in ledger.entries if isinstance(entry, data.Open)]


def test_the_accounts_own_word_stands_for_those_below(sound_ledger: Any) -> None:
    """
    2025-01-01 open Expenses:Office
      tax-line: "utilities"
    2025-01-01 open Expenses:Office:Insurance
    2025-01-01 open Expenses:Office:Paper
      tax-line: "supplies"
    2025-01-01 open Expenses:Officers
    """
    lines = TaxLines(opens(sound_ledger), sound_ledger.options, RULES)
    # What the maker says above goes before what is usual below.
    assert lines["Expenses:Office:Insurance"] == TaxLine("utilities", True, False)
    assert lines["Expenses:Office:Paper:A4"] == TaxLine("supplies", True, False)
    assert lines["Expenses:Officers"] == TaxLine("", False, False)
    assert lines["Assets:Office"] is None


def test_usual_lines_of_usual_accounts(sound_ledger: Any) -> None:
    """"""
    lines = TaxLines([], sound_ledger.options, RULES)
    assert lines["Expenses:Fees:Card"] == TaxLine("commissions-fees", False, False)
    assert lines["Expenses:Office:Insurance"] == TaxLine("insurance", False, False)
    assert lines["Expenses:Marketing:Giveaways"] == TaxLine("advertising", False, False)
    assert lines["Income:Sales:Web"] == TaxLine("gross-receipts", False, True)
    assert lines["Income:Interest"] == TaxLine("other-income", False, True, True)
    assert lines["Expenses:Shrinkage:HERON-STK"] == TaxLine("cost-of-goods", False, False)
    assert lines.of_packaging() == "supplies"


def test_an_unknown_word_is_an_error_at_its_line(sound_ledger: Any) -> None:
    """
    2025-01-01 open Expenses:Ads
      tax-line: "advertisng"
    2025-01-01 open Expenses:Sum
      tax-line: "total-expenses"
    2025-01-01 open Expenses:Number
      tax-line: 8
    2025-01-01 open Expenses:Private
      tax-line: "none"
    """
    errors = list(check_tax_lines(opens(sound_ledger), RULES))
    assert len(errors) == 3
    assert 'Expenses:Ads: tax-line is "advertisng" (did you mean advertising?)' in (
        errors[0].message
    )
    # Nobody posts to a sum.
    assert "Expenses:Sum" in errors[1].message
    assert "Expenses:Number" in errors[2].message
    assert errors[0].source["lineno"] == 2
    lines = TaxLines(opens(sound_ledger), sound_ledger.options, RULES)
    assert lines["Expenses:Ads"] == TaxLine("", False, False)


def test_each_word_is_accepted_once() -> None:
    words = accepted_words(RULES)
    assert len(words) == len(set(words))
    assert {"none", "car-other", "cost-of-labor", "other-expenses"} <= set(words)
    assert "closing-inventory" not in words
