"""The form of tax rules: its captions, and what is wrong in a file."""

from __future__ import annotations

import tomllib
from decimal import Decimal

import pytest

from offcut.reports.tax.form_amounts import form_amounts
from offcut.reports.tax.form_schema import form_mistakes
from offcut.reports.tax.rules_files import find_rules

D = Decimal

# Schedule C (Form 1040) 2025 in a transcription of f1040sc.pdf; line 27 also in
# legalclarity.org on other expenses. Parts I to III.
PRINTED = {
    "1": "Gross receipts or sales",
    "2": "Returns and allowances",
    "4": "Cost of goods sold (from line 42)",
    "8": "Advertising",
    "9": "Car and truck expenses",
    "10": "Commissions and fees",
    "11": "Contract labor",
    "13": "Depreciation and section 179 (not in Part III)",
    "15": "Insurance (other than health)",
    "17": "Legal and professional services",
    "18": "Office expense",
    "22": "Supplies (not in Part III)",
    "23": "Taxes and licenses",
    "24a": "Travel",
    "25": "Utilities",
    "26": "Wages (less employment credits)",
    "27a": "Energy efficient commercial buildings deduction (Form 7205)",
    "27b": "Other expenses (from line 48)",
    "35": "Inventory at beginning of year",
    "36": "Purchases less cost of items withdrawn for personal use",
    "37": "Cost of labor, excluding amounts paid to yourself",
    "38": "Materials and supplies",
    "39": "Other costs",
    "41": "Inventory at end of year",
    "44b": "Miles: commuting",
}


@pytest.mark.parametrize("year", ["2025", "2026"])
def test_captions_are_the_printed_ones(year: str) -> None:
    form = find_rules("us-federal", year).form
    captions = {each.line: each.caption for each in form}
    assert {line: captions[line] for line in PRINTED} == PRINTED
    assert all(each.source for each in form)
    if year == "2026":
        assert "not printed yet" in form[0].source


def test_sums_are_those_of_the_form() -> None:
    """Each line its number: the form's own sums of lines, by their printed numbers."""
    form = find_rules("us-federal", "2025").form
    given = {}
    for each in form:
        if not each.adds and each.key:
            given.setdefault(each.key, D(len(given) + 1))
    by_line = {each.line: form_amounts(form, given)[each.key] for each in form}
    assert by_line["3"] == by_line["1"] - by_line["2"]
    assert by_line["5"] == by_line["3"] - by_line["4"]
    assert by_line["7"] == by_line["5"] + by_line["6"]
    expenses = "8 9 10 11 12 13 14 15 16a 16b 17 18 19 20a 20b 21 22 23 24a 24b 25 26"
    assert by_line["28"] == sum(by_line[line] for line in [*expenses.split(), "27a", "27b"])
    assert by_line["29"] == by_line["7"] - by_line["28"]
    assert by_line["31"] == by_line["29"] - by_line["30"]
    assert by_line["40"] == sum(by_line[str(line)] for line in range(35, 40))
    assert by_line["4"] == by_line["42"]
    assert by_line["27b"] == by_line["48"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('[[form]]\nline = "1"', "form 1: caption must be text"),
        ('[[form]]\nline = "1"\ncaption = "A"\nside = "incom"', "did you mean income?"),
        ('[[form]]\nline = "1"\ncaption = "A"\nside = "income"', "key is missing"),
        ('[[form]]\nline = "1"\ncaption = "A"\nkey = "a"\nadds = ["b"]', "no line's key"),
        ('[[form]]\nline = "1"\ncaption = "A"\nkey = "a"\nadds = "a"', "must be a list"),
        ('[[form]]\nline = "1"\ncaption = "A"\nkey = "a"\nadds = ["a"]', "sum of itself"),
        (
            '[[form]]\nline = "1"\ncaption = "A"\nkey = "a"\nadds = ["b"]\n'
            '[[form]]\nline = "2"\ncaption = "B"\nkey = "b"\ntakes = ["a"]',
            "a is a sum of itself",
        ),
        (
            '[[form]]\nline = "1"\ncaption = "A"\nkey = "a"\nside = "cost"\nshare = "half"',
            "share names the figure half",
        ),
        ('[[form]]\nlime = "1"\nline = "1"\ncaption = "A"', "did you mean line?"),
        ("form-title = 3", "form-title must be text"),
        ("defaults = 3", "defaults must be a table"),
        ('[defaults]\n"Expenses:Fees" = "fees"', "is no line that accounts stand on"),
        ('[defaults]\n"Assets:Fees" = "none"', "must be an account of income or expenses"),
    ],
)
def test_mistakes(text: str, expected: str) -> None:
    found = list(form_mistakes(tomllib.loads(text, parse_float=Decimal)))
    assert any(expected in each for each in found), found
