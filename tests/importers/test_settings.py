"""`offcut.toml` beside the ledger."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.importers.problems import ImportRefused
from offcut.importers.settings import ItemRule, Settings, load_settings

LAYOUT = """\
kind = "payments"
source = "x"
channel = "Web"
currency = "USD"
columns = { date = "Date", gross = "Gross" }
types = { default = "sale" }
"""


def settings_of(folder: Path, text: str) -> Settings:
    (folder / "offcut.toml").write_text(text, "utf-8")
    return load_settings(folder / "main.beancount")


def test_no_file_is_no_settings(tmp_path: Path) -> None:
    assert load_settings(tmp_path / "main.beancount") == Settings()


def test_all_that_can_be_set(tmp_path: Path) -> None:
    (tmp_path / "layouts").mkdir()
    (tmp_path / "layouts" / "filed.toml").write_text(LAYOUT)
    text = f"""\
[[items]]
text = "Heron*"
product = "HERON-STK"
[[items]]
text = "Gift wrap"
account = "Income:Extras:Web"
[packing]
Web = "letter"
[layouts.inline]
{LAYOUT}
"""
    settings = settings_of(tmp_path, text)

    assert settings.path == tmp_path / "offcut.toml"
    assert settings.items == (
        ItemRule("Heron*", "HERON-STK", ""),
        ItemRule("Gift wrap", "", "Income:Extras:Web"),
    )
    assert settings.packing == {"Web": "letter"}
    assert sorted(settings.layouts) == ["filed", "inline"]


def test_tables_of_other_parts_are_let_alone(tmp_path: Path) -> None:
    assert settings_of(tmp_path, '[owner]\nname = "A maker"\n').items == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[[items", "expected TOML in utf-8"),
        ('[[item]]\ntext = "x"', "unknown table 'item' (did you mean items?)"),
        ("items = 3", "items: expected rules, each begun with [[items]]"),
        ("items = [3]", "[[items]] rule 1: expected a table with text"),
        ('[[items]]\nproduct = "X"', "[[items]] rule 1: text is missing"),
        (
            '[[items]]\ntext = "x"',
            "[[items]] rule 1: expected one of product, products and account",
        ),
        (
            '[[items]]\ntext = "x"\nproduct = "X"\naccount = "Income:X"',
            "[[items]] rule 1: expected one of product, products and account",
        ),
        (
            '[[items]]\ntext = "x"\nprodukt = "X"',
            "[[items]] rule 1: unknown key 'produkt' (did you mean product?)",
        ),
        ('[[items]]\ntext = ""\nproduct = "X"', "[[items]] rule 1: text: expected a text"),
        (
            '[[items]]\ntext = "x"\naccount = "income"',
            "[[items]] rule 1: account: expected an account such as Income:Shipping:Web",
        ),
        ('layouts = "x"', "layouts: expected tables, each begun with [layouts.NAME]"),
        ("[packing]\nWeb = 1", "[packing]: expected a packing list for a channel"),
        ('[layouts.mine]\nkind = "x"', "layout mine: kind: expected one of"),
    ],
)
def test_mistakes(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ImportRefused) as caught:
        settings_of(tmp_path, text)

    assert any(
        str(problem).startswith(f"offcut.toml: {message}")
        for problem in caught.value.problems
    ), str(caught.value)


def test_mark_that_some_editors_put_before_a_file_is_no_mistake(tmp_path: Path) -> None:
    (tmp_path / "layouts").mkdir()
    (tmp_path / "layouts" / "mine.toml").write_text(LAYOUT, "utf-8-sig")
    (tmp_path / "offcut.toml").write_text('[packing]\nWeb = "letter"\n', "utf-8-sig")

    settings = load_settings(tmp_path / "main.beancount")

    assert settings.packing == {"Web": "letter"}
    assert settings.layouts.keys() == {"mine"}
