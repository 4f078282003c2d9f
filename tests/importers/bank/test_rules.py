"""The `[[bank]]` rules of `offcut.toml`."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.importers.bank.rules import BankRule
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import load_settings


def rules_of(folder: Path, text: str) -> tuple[BankRule, ...]:
    (folder / "offcut.toml").write_text(text, "utf-8")
    return load_settings(folder / "main.beancount").bank


def test_rules_in_their_order(tmp_path: Path) -> None:
    text = """\
[[bank]]
text = "Paper Mill*"
account = "Expenses:Materials"
direction = "out"
[[bank]]
text = "*"
account = "Equity:Owner"
"""
    assert rules_of(tmp_path, text) == (
        BankRule("Paper Mill*", "Expenses:Materials", "out"),
        BankRule("*", "Equity:Owner", ""),
    )
    assert rules_of(tmp_path, "") == ()


@pytest.mark.parametrize(
    ("text", "mistakes"),
    [
        ('bank = "x"', ["bank: expected rules, each begun with [[bank]]"]),
        (
            'bank = ["x"]',
            ['[[bank]] rule 1: expected a table with text = "..." and account = "..."'],
        ),
        (
            "[[bank]]",
            [
                '[[bank]] rule 1: text is missing, expected it as in text = "Paper Mill*"',
                "[[bank]] rule 1: account is missing, expected it as in account = "
                '"Expenses:Materials"',
            ],
        ),
        (
            '[[bank]]\ntext = "a"\naccount = "Materials"',
            [
                "[[bank]] rule 1: account: expected an account such as Expenses:Office, "
                "found 'Materials'"
            ],
        ),
        (
            '[[bank]]\ntext = 7\naccount = "Expenses:A"\ndirection = "up"\ntxt = "b"',
            [
                "[[bank]] rule 1: text: expected a text, found 7",
                '[[bank]] rule 1: direction: expected "in" or "out", found \'up\'',
                "[[bank]] rule 1: unknown key 'txt' (did you mean text?)",
            ],
        ),
        ("[[banks]]", ["unknown table 'banks' (did you mean bank?)"]),
    ],
)
def test_mistakes_are_named(tmp_path: Path, text: str, mistakes: list[str]) -> None:
    with pytest.raises(ImportRefused) as caught:
        rules_of(tmp_path, text)

    assert [str(problem) for problem in caught.value.problems] == [
        f"offcut.toml: {mistake}; correct the settings, nothing was imported"
        for mistake in mistakes
    ]
