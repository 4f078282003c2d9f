"""Item texts and the rules that name their products."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.items import UNKNOWN, Meaning, Part, item_matcher, text_pattern
from offcut.importers.known import list_prices, scan_ledger
from offcut.importers.layout import shipped_layouts
from offcut.importers.line_postings import line_postings
from offcut.importers.problems import ImportRefused
from offcut.importers.records import OrderLine
from offcut.importers.settings import ItemRule
from tests.importers.shop import LEDGER, Shop, new_shop

RULES = [
    ItemRule("Heron at Dusk sticker*", "HERON-STK", ""),
    ItemRule("heron*", "HERON-PRT", ""),
    ItemRule("Print [A4] ?x", "PRINT", ""),
    ItemRule("Straße*", "STREET", ""),
    ItemRule("Gift wrap", "", "Income:Extras"),
]
COMMODITIES = {"HERON-STK", "HERON-PRT", "PRINT", "STREET", "MOTH"}


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("Heron at Dusk sticker, 3 in", Meaning("HERON-STK")),
        ("HERON AT DUSK STICKER", Meaning("HERON-STK")),
        ("Heron at Dusk, print", Meaning("HERON-PRT")),
        ("A heron", UNKNOWN),
        ("Print [A4] 2x", Meaning("PRINT")),
        ("Print A 2x", UNKNOWN),
        ("STRASSE 7", Meaning("STREET")),
        ("gift wrap", Meaning(account="Income:Extras")),
        ("Gift wrapping", UNKNOWN),
        ("MOTH", Meaning("MOTH")),
        ("moth", UNKNOWN),
        ("", UNKNOWN),
    ],
)
def test_first_rule_over_the_whole_text_wins(text: str, meaning: Meaning) -> None:
    assert item_matcher(RULES, COMMODITIES)(text) == meaning


def test_all_rules_for_undeclared_products_are_named() -> None:
    with pytest.raises(ImportRefused) as caught:
        item_matcher(RULES, {"PRINT"})

    assert [str(each).split("'")[1] for each in caught.value.problems] == [
        "Heron at Dusk sticker*",
        "heron*",
        "Straße*",
    ]


# --- bundles -----------------------------------------------------------------------

D = Decimal
SET = ItemRule("Set*", "", "", ((D(1), "HERON"), (D(2), "MOTH")))
ACCOUNTS = shipped_layouts()["shop-orders"].accounts


def meaning(prices: dict[str, tuple[Decimal, str]]) -> Meaning:
    """Return what the text of a bundle means."""
    return item_matcher([SET], {"HERON", "MOTH"}, prices)("Set of three")


def test_bundle_weighs_by_list_price_and_count() -> None:
    assert meaning({"HERON": (D("4.00"), "USD"), "MOTH": (D("3.00"), "USD")}).parts == (
        Part("HERON", D(1), D("4.00")),
        Part("MOTH", D(2), D("6.00")),
    )


@pytest.mark.parametrize(
    "prices",
    [
        {},
        {"HERON": (D("4.00"), "USD")},
        {"HERON": (D("4.00"), "USD"), "MOTH": (D("3.00"), "EUR")},
        {"HERON": (D("0"), "USD"), "MOTH": (D("3.00"), "USD")},
    ],
)
def test_every_piece_weighs_the_same_where_prices_do_not_compare(
    prices: dict[str, tuple[Decimal, str]],
) -> None:
    assert [part.weight for part in meaning(prices).parts] == [1, 2]


def test_product_of_a_bundle_that_is_not_declared_is_named() -> None:
    with pytest.raises(ImportRefused) as caught:
        item_matcher([SET], {"HERON"})

    assert "the rule for 'Set*' names the product MOTH" in str(caught.value)


@given(
    cents=st.integers(0, 100_000),
    off=st.integers(0, 1000),
    quantity=st.sampled_from([D(1), D(3), D(-2), D("0.5")]),
    weights=st.lists(st.integers(0, 5000).map(D), min_size=2, max_size=5),
)
def test_parts_of_a_bundle_come_to_its_amount_discount_and_pieces(
    cents: int, off: int, quantity: Decimal, weights: list[Decimal]
) -> None:
    sign = 1 if quantity > 0 else -1
    line = OrderLine("Set", quantity, sign * D(cents) / 100, D(0), sign * D(off) / 100)
    parts = tuple(Part(f"P{at}", D(at + 1), each) for at, each in enumerate(weights))

    postings = list(line_postings(line, Meaning(parts=parts), ACCOUNTS, "USD"))

    amounts = [each for each in postings if each.account != ACCOUNTS.discounts]
    discounts = [each for each in postings if each.account == ACCOUNTS.discounts]
    assert -sum(each.amount for each in amounts) == line.amount
    assert sum(each.amount for each in discounts) == line.discount
    assert all(each.amount == each.amount.quantize(D("0.01")) for each in postings)
    assert [dict(each.meta)["quantity"] for each in amounts] == [
        abs(quantity) * (at + 1) for at in range(len(weights))
    ]
    expected = ACCOUNTS.sales if quantity > 0 else ACCOUNTS.refunds
    assert {each.account for each in amounts} == {expected}


PRICES = """
2025-01-01 commodity HERON-STK ; our first
  stock: "product"
  ; sold since the spring fair
  list-price: 4.00 USD

2025-01-01 commodity MOTH-STK
  list-price: 1,003.50 USD
  stock: "product"
2025-01-01 commodity FERN-PRT
  stock: "product"
2025-01-01 commodity OWL-PRT\r
  list-price: 5 EUR\r
"""


def test_list_prices_are_read_from_the_text(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(PRICES, "utf-8", newline="")

    assert list_prices(scan_ledger(path)) == {
        "HERON-STK": (D("4.00"), "USD"),
        "MOTH-STK": (D("1003.50"), "USD"),
        "OWL-PRT": (D("5"), "EUR"),
    }


BUNDLED = """\
[[items]]
text = "Night walk set*"
products = ["HERON-STK", "2 MOTH-STK"]
"""


@pytest.fixture
def bundles(tmp_path: Path) -> Shop:
    """A shop that sells a set: 4.00 and two of 3.00 by the list."""
    ledger = LEDGER.replace(
        'stock: "product"', 'stock: "product"\n  list-price: 4.00 USD', 1
    )
    ledger = ledger.rstrip() + "\n  list-price: 3.00 USD\n"
    return new_shop(tmp_path / "bundles", ledger, BUNDLED)


def lines_of(shop: Shop) -> list[tuple[str, str, str, str]]:
    """Return account, amount, item and quantity of each posting that has an item."""
    return [
        (p.account, str(p.units.number), p.meta["item"], str(p.meta.get("quantity", "")))
        for transaction in shop.transactions()
        for p in transaction.postings
        if "item" in (p.meta or {})
    ]


def test_bundle_is_sold_as_its_products(bundles: Shop) -> None:
    report = bundles.run(bundles.orders("W1,2025-03-03,Night walk set,2,8.75,1.00,0,0,USD"))

    # 17.50 by 4 to 6: 7.00 and 10.50; the discount likewise.
    assert lines_of(bundles) == [
        ("Income:Sales:Web", "-7.00", "HERON-STK", "2"),
        ("Income:Sales:Web", "-10.50", "MOTH-STK", "4"),
        ("Income:Discounts:Web", "0.40", "HERON-STK", ""),
        ("Income:Discounts:Web", "0.60", "MOTH-STK", ""),
    ]
    assert bundles.balances()["Assets:Receivable:Web"] == D("16.50")
    assert report.unknown_items == ()


def test_bundle_comes_back_as_its_products(bundles: Shop) -> None:
    bundles.run(bundles.orders("W1,2025-03-03,Night walk set,-1,8.75,0,0,0,USD"))

    assert lines_of(bundles) == [
        ("Income:Refunds:Web", "3.50", "HERON-STK", "1"),
        ("Income:Refunds:Web", "5.25", "MOTH-STK", "2"),
    ]


def test_bundle_for_nothing_is_given_away(bundles: Shop) -> None:
    bundles.run(bundles.orders("W1,2025-03-03,Night walk set,1,0,0,0,0,USD"))

    text = bundles.text("shop-orders-2025-03.beancount")
    assert text.count('cost-account: "Expenses:Marketing:Giveaways"') == 2


def test_prices_that_rose_since_change_nothing_that_is_booked(bundles: Shop) -> None:
    file = bundles.orders("W1,2025-03-03,Night walk set,2,8.75,1.00,0,0,USD")
    bundles.run(file)
    main = bundles.ledger.read_text("utf-8")
    bundles.ledger.write_text(main.replace("4.00 USD", "9.00 USD"), "utf-8")
    before = bundles.contents()

    report = bundles.run(file)

    assert bundles.contents() == before
    assert report.notes == ()


@pytest.mark.parametrize(
    ("products", "message"),
    [
        ("[]", "products: expected a list such as"),
        ('"HERON-STK"', "products: expected a list such as"),
        ('["0 HERON-STK"]', "products: expected a list such as"),
        ('["two HERON-STK"]', "products: expected a list such as"),
        ("[2]", "products: expected a list such as"),
        ('["HERON-STK"]\nproduct = "MOTH-STK"', "expected one of product, products"),
    ],
)
def test_rules_of_bundles_that_are_none(shop: Shop, products: str, message: str) -> None:
    rule = f'[[items]]\ntext = "Set"\nproducts = {products}\n'
    (shop.folder / "offcut.toml").write_text(rule, "utf-8")

    (line,) = shop.refused(shop.orders("W1,2025-03-03,Set,1,1.00,0,0,0,USD"))

    assert line.startswith(f"offcut.toml: [[items]] rule 1: {message}")


def fits(pattern: str, text: str) -> bool:
    """Return whether a pattern of `*` and `?` is of a whole text, letter by letter."""
    reached = {0}  # how much of the text the pattern so far may be of
    for mark in pattern:
        if mark == "*":
            reached = set(range(min(reached), len(text) + 1)) if reached else set()
        else:
            reached = {
                at + 1
                for at in reached
                if at < len(text) and mark in ("?", text[at : at + 1])
            }
    return len(text) in reached


@given(st.text("ab*?.\n", max_size=12), st.text("ab.\n", max_size=16))
def test_patterns_fit_as_they_are_read_letter_by_letter(pattern: str, text: str) -> None:
    assert bool(text_pattern(pattern).fullmatch(text)) == fits(pattern, text)


def test_many_stars_take_no_longer_than_one() -> None:
    # Tried in all ways, the places of these stars are more than 10 ** 40.
    match = item_matcher([ItemRule("*a" * 20 + "*b", "HERON-STK", "")], {"HERON-STK"})

    assert match("a" * 5000) == UNKNOWN
    assert match("a" * 5000 + "b") == Meaning("HERON-STK")
