"""Lines that no rule knew are booked by the rule that comes later, and once."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.importing import import_files
from offcut.importers.items import item_matcher
from offcut.importers.known import scan_ledger
from offcut.importers.layout import shipped_layouts
from offcut.importers.learning.parked_lines import parked_lines, unknown_texts
from offcut.importers.settings import ItemRule
from tests.importers.shop import LEDGER, SETTINGS, Shop, new_shop

OWL = '[[items]]\ntext = "Owl*"\nproduct = "OWL-STK"\n'
WREN = '[[items]]\ntext = "Wren*"\nproduct = "WREN-STK"\n'
BIRDS = LEDGER + (
    '2025-01-01 commodity OWL-STK\n  stock: "product"\n'
    '2025-01-01 commodity WREN-STK\n  stock: "product"\n'
)
ONE = 'W1,2025-03-03,"Owl sticker",2,4.00,0.50,2.50,0.50,USD'
OTHER = 'W2,2025-03-04,"Heron, 3 in",1,4.00,0.00,2.50,0.50,USD'
PARKED = "shop-orders-2025-03.beancount"


@pytest.fixture
def birds(tmp_path: Path) -> Shop:
    """A shop with four products, rules for two of them, and a packing list."""
    return new_shop(
        tmp_path / "birds", ledger=BIRDS, settings=SETTINGS + '[packing]\nWeb = "letter"\n'
    )


def rule(shop: Shop, text: str = OWL) -> None:
    """Have the user write a rule into the settings."""
    with (shop.folder / "offcut.toml").open("a") as settings:
        settings.write(text)


def edit(shop: Shop, change: Callable[[str], str], name: str = PARKED) -> None:
    """Have the user edit an imported file."""
    path = shop.folder / "imports" / name
    before = path.read_bytes().decode()
    after = change(before)
    assert after != before
    path.write_bytes(after.encode())


def moves(shop: Shop) -> list[data.Transaction]:
    """Return the transactions that move parked lines."""
    return [each for each in shop.transactions() if "parked-id" in each.meta]


def test_a_rule_books_what_waited_for_it(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    assert birds.balances()["Income:Suspense:Web"] == Decimal("-8.00")
    rule(birds)
    report = birds.run(birds.orders(ONE))

    assert report.parked_lines == 1
    assert birds.balances() == {
        "Assets:Receivable:Web": Decimal("10.50"),
        "Income:Discounts:Web": Decimal("0.50"),
        "Income:Sales:Web": Decimal("-8.00"),
        "Income:Shipping:Web": Decimal("-2.50"),
        "Liabilities:SalesTax": Decimal("-0.50"),
    }
    (move,) = moves(birds)
    (parked,) = [each for each in birds.transactions() if "lines-id" in each.meta]
    assert (move.date, move.links, move.narration) == (
        parked.date,
        parked.links,
        parked.narration,
    )
    assert move.meta["parked-id"] == "shop-orders/W1/1"
    assert [
        (each.account, each.meta.get("item"), each.meta.get("quantity"))
        for each in move.postings
    ] == [
        ("Income:Suspense:Web", None, 2),
        ("Income:Discounts:Web", None, None),
        ("Income:Sales:Web", "OWL-STK", 2),
        ("Income:Discounts:Web", "OWL-STK", None),
    ]
    assert parked.postings[-1].meta["discount-of"] == "Owl sticker"
    assert move.postings[1].meta["discount-of"] == "Owl sticker"
    assert move.postings[1].units.number == Decimal("-0.50")


def test_any_file_will_do(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    rule(birds)
    before = birds.text(PARKED)
    report = birds.run(birds.payments("2025-04-01,Fee,,Listing,0,1.00,-1.00,USD,f1"))

    assert report.parked_lines == 1
    assert birds.text(PARKED).startswith(before)


def test_it_is_booked_once(birds: Shop) -> None:
    birds.run(birds.orders(ONE, ONE.replace("W1", "W3")))
    rule(birds)
    assert birds.run(birds.orders(ONE)).parked_lines == 2
    before = birds.contents()

    assert birds.run(birds.orders(ONE, ONE.replace("W1", "W3"))).parked_lines == 0
    assert birds.contents()["imports/" + PARKED] == before["imports/" + PARKED]


def test_a_dry_run_counts_and_writes_nothing(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    rule(birds)
    before = birds.contents()

    assert birds.run(birds.orders(ONE), dry_run=True).parked_lines == 1
    assert birds.contents() == before


def test_lines_alike_are_booked_each(birds: Shop) -> None:
    birds.run(birds.orders(ONE, ONE))
    rule(birds)

    assert birds.run(birds.orders(ONE, ONE)).parked_lines == 2
    assert [each.meta["parked-id"] for each in moves(birds)] == [
        "shop-orders/W1/1",
        "shop-orders/W1/2",
    ]
    assert "Income:Suspense:Web" not in birds.balances()


def test_rules_come_one_by_one(birds: Shop) -> None:
    wren = ONE.replace("Owl", "Wren")
    birds.run(birds.orders(wren, ONE))
    rule(birds, OWL)
    assert birds.run(birds.orders(wren, ONE)).parked_lines == 1
    rule(birds, WREN)
    assert birds.run(birds.orders(wren, ONE)).parked_lines == 1

    assert sorted(each.meta["parked-id"] for each in moves(birds)) == [
        "shop-orders/W1/1",
        "shop-orders/W1/2",
    ]
    assert "Income:Suspense:Web" not in birds.balances()


def test_a_joined_payment_parks_its_lines_too(birds: Shop) -> None:
    birds.run(
        birds.payments("2025-03-04,Sale,W1,,10.50,0.60,9.90,USD,ch_1"), birds.orders(ONE)
    )
    rule(birds)
    birds.run(birds.orders(ONE))

    (move,) = moves(birds)
    assert move.date.isoformat() == "2025-03-04"
    assert birds.balances()["Income:Sales:Web"] == Decimal("-8.00")


def test_an_account_is_a_meaning(birds: Shop) -> None:
    birds.run(birds.orders(ONE.replace("Owl sticker", "Wrapping paper")))
    rule(birds, '[[items]]\ntext = "Wrap*"\naccount = "Income:Extras:Web"\n')
    birds.run(birds.orders(OTHER))

    assert birds.balances()["Income:Extras:Web"] == Decimal("-8.00")
    (move,) = moves(birds)
    assert move.postings[2].meta["line-text"] == "Wrapping paper"
    assert discounts(birds) == {"": Decimal("0.50")}
    assert "packing" not in move.meta


def test_a_bundle_is_a_meaning(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    rule(birds, '[[items]]\ntext = "Owl*"\nproducts = ["OWL-STK", "2 WREN-STK"]\n')
    birds.run(birds.orders(ONE))

    (move,) = moves(birds)
    assert [
        (each.meta["item"], each.meta.get("quantity")) for each in move.postings[2:]
    ] == [
        ("OWL-STK", 2),
        ("WREN-STK", 4),
        ("OWL-STK", None),
        ("WREN-STK", None),
    ]
    assert discounts(birds) == {"OWL-STK": Decimal("0.17"), "WREN-STK": Decimal("0.33")}
    assert birds.balances()["Income:Sales:Web"] == Decimal("-8.00")


def test_discount_that_changed_before_the_rule_was_there_goes_with_its_line(
    birds: Shop,
) -> None:
    birds.run(birds.orders(ONE, ONE))
    more = ONE.replace("4.00,0.50", "4.00,0.80")
    birds.run(birds.orders(ONE, more), are_newer=True)
    assert discounts(birds) == {"Owl sticker": Decimal("1.30")}

    rule(birds)
    birds.run(birds.orders(ONE, more))

    assert discounts(birds) == {"OWL-STK": Decimal("1.30")}
    before = imported(birds)
    assert birds.run(birds.orders(ONE, more)).notes == ()
    assert imported(birds) == before


def test_discount_without_the_text_of_its_line_stays_for_none(birds: Shop) -> None:
    """As it was booked once."""
    birds.run(birds.orders(ONE))
    edit(birds, lambda text: text.replace('    discount-of: "Owl sticker"\n', ""))
    rule(birds)

    for _ in range(2):
        assert birds.run(birds.orders(ONE)).notes == ()
    assert discounts(birds) == {"": Decimal("0.50")}


def test_cancelled_pieces_come_back(birds: Shop) -> None:
    lines = birds.orders(ONE, ONE.replace(",2,4.00,0.50", ",-1,4.00,0.00"))
    birds.run(lines)
    rule(birds)
    birds.run(lines)

    back = moves(birds)[1].postings[1]
    assert (back.account, back.units.number, back.meta["quantity"]) == (
        "Income:Refunds:Web",
        Decimal("4.00"),
        1,
    )


def test_a_free_piece_is_given_away(birds: Shop) -> None:
    birds.run(birds.orders(ONE.replace("4.00,0.50", "0.00,0.00")))
    rule(birds)
    birds.run(birds.orders(OTHER))

    (move,) = moves(birds)
    assert move.postings[1].meta["cost-account"] == "Expenses:Marketing:Giveaways"


@pytest.mark.parametrize(
    ("rows", "packed"),
    [
        ((ONE,), ["letter"]),
        ((ONE, ONE), ["letter", None]),  # one parcel for the order
        ((ONE, OTHER.replace("W2,2025-03-04", "W1,2025-03-03")), [None]),  # packed before
        ((ONE.replace(",2,4.00,0.50", ",-2,4.00,0.00"),), [None]),  # nothing to pack
    ],
)
def test_an_order_is_packed_once(
    birds: Shop, rows: Sequence[str], packed: list[str | None]
) -> None:
    birds.run(birds.orders(*rows))
    rule(birds)
    birds.run(birds.orders(*rows))

    assert [each.meta.get("packing") for each in moves(birds)] == packed


def test_a_later_rule_does_not_pack_again(birds: Shop) -> None:
    rows = birds.orders(ONE, ONE.replace("Owl", "Wren"))
    birds.run(rows)
    for text in (OWL, WREN):
        rule(birds, text)
        birds.run(rows)

    assert [each.meta.get("packing") for each in moves(birds)] == ["letter", None]


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda text: text.replace("\n", "\r\n"), id="CRLF"),
        pytest.param(lambda text: text.replace("  ", "\t"), id="tabs"),
        pytest.param(lambda text: text.replace("\n  ", "\n        "), id="indentation"),
        pytest.param(
            lambda text: text.replace("\n  Inc", "\n  ; hm\n  Inc"), id="comments"
        ),
        pytest.param(lambda text: text.replace(" USD\n", " USD ; hm\n"), id="remarks"),
        pytest.param(lambda text: text.replace("\n2025", "\n\n\n; hm\n2025"), id="blanks"),
        pytest.param(lambda text: text.replace(" * ", ' * "Ann" ', 1), id="payee"),
        pytest.param(
            lambda text: text.replace("2025-03-03 *", "2025/03/03 txn"), id="date"
        ),
        pytest.param(lambda text: text.replace("quantity: 2", 'quantity: "2"'), id="text"),
        pytest.param(lambda text: text.rstrip("\n"), id="no end of line"),
    ],
)
def test_what_users_do_by_hand_survives(birds: Shop, change: Callable[[str], str]) -> None:
    birds.run(birds.orders(ONE))
    edit(birds, change)
    before = birds.contents()["imports/" + PARKED]
    rule(birds)

    assert birds.run(birds.orders(ONE)).parked_lines == 1
    assert birds.contents()["imports/" + PARKED].startswith(before)
    assert birds.balances()["Income:Sales:Web"] == Decimal("-8.00")
    assert "Income:Suspense:Web" not in birds.balances()
    assert birds.run(birds.orders(ONE)).parked_lines == 0


def test_an_amount_that_was_left_blank_is_that_of_the_balance(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    edit(birds, lambda text: re.sub(r"(Income:Suspense:Web) .*", r"\1", text))
    rule(birds)
    birds.run(birds.folder / "orders.csv")
    (move,) = moves(birds)
    sold = {posting.account: posting.units.number for posting in move.postings}
    assert sold["Income:Suspense:Web"] == Decimal("8.00")


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(
            lambda text: text.replace("Suspense", "Sales").replace(
                'text: "Owl sticker"', 'x: "OWL-STK"'
            ),
            id="booked by hand",
        ),
        pytest.param(
            lambda text: text.replace("Income:Suspense", "Income:Sales"), id="moved"
        ),
        pytest.param(lambda text: text.replace("    item-text:", "    was:"), id="no text"),
        pytest.param(lambda text: text.replace("    quantity: 2\n", ""), id="no quantity"),
        pytest.param(lambda text: text.replace('"Owl sticker"', '"Hen"'), id="other text"),
    ],
)
def test_a_line_put_right_by_hand_is_left_alone(
    birds: Shop, change: Callable[[str], str]
) -> None:
    birds.run(birds.orders(ONE))
    edit(birds, change)
    rule(birds)

    report = import_files([birds.orders(OTHER)], birds.ledger, dry_run=True)
    assert report.parked_lines == 0


def test_what_beancount_cannot_read_is_left_alone(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    edit(birds, lambda text: text.replace("    quantity", "\n    quantity"))
    rule(birds)

    assert birds.run(birds.orders(ONE)).parked_lines == 0


def test_an_edit_that_shifts_the_lines_books_none_twice(birds: Shop) -> None:
    wren = ONE.replace("Owl", "Wren")
    birds.run(birds.orders(wren, ONE))
    rule(birds)
    birds.run(birds.orders(wren, ONE))  # moves the second line, /2

    def without_the_first(text: str) -> str:
        before, _, after = text.partition("  Income:Suspense:Web")
        assert "Wren" in after.partition("quantity: 2\n")[0]
        return before + after.partition("quantity: 2\n")[2]

    edit(birds, without_the_first)
    rule(birds, WREN)

    report = import_files([birds.orders(OTHER)], birds.ledger, dry_run=True)
    assert report.parked_lines == 0


def test_a_move_edited_by_hand_is_not_made_again(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    rule(birds)
    birds.run(birds.orders(ONE))

    def change(text: str) -> str:
        first, mark, move = text.partition('  parked-id: "')
        move = move.replace(
            '8.00 USD\n    item-text: "Owl sticker"\n    quantity: 2', "8.00 USD"
        )
        return first + mark + move

    edit(birds, change)
    assert birds.run(birds.orders(ONE)).parked_lines == 0


def test_a_transaction_moved_to_another_file_is_found(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    path = birds.folder / "imports" / PARKED
    with birds.ledger.open("a") as ledger:
        ledger.write(path.read_text("utf-8"))
    path.unlink()
    rule(birds)

    assert birds.run(birds.orders(ONE)).parked_lines == 1
    assert birds.balances()["Income:Sales:Web"] == Decimal("-8.00")


def test_consigned_goods_leave_where_they_are(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    edit(birds, lambda text: text.replace("  lines-id", '  place: "Harbour"\n  lines-id'))
    rule(birds)
    birds.run(birds.orders(ONE))

    assert moves(birds)[0].meta["place"] == "Harbour"


def test_a_source_without_a_layout_is_said(birds: Shop) -> None:
    birds.run(birds.orders(ONE))
    edit(birds, lambda text: text.replace('"shop-orders/', '"other-shop/'))
    rule(birds)
    report = birds.run(birds.orders(OTHER))

    assert report.parked_lines == 0
    assert (
        "1 parked line of the source other-shop could be booked by the rules, but no "
        "layout has this source; choose it by --layout" in report.notes
    )


def test_a_layout_of_the_import_books_too(birds: Shop) -> None:
    own = birds.folder / "own.toml"
    shipped = (Path(shop_layouts()) / "shop-orders.toml").read_text("utf-8")
    own.write_text(shipped.replace('source = "shop-orders"', 'source = "own"'), "utf-8")
    birds.run(birds.orders(ONE), layouts=[str(own)])
    rule(birds)

    assert birds.run(birds.payments()).parked_lines == 0
    assert birds.run(birds.orders(ONE), layouts=[str(own)]).parked_lines == 1


def shop_layouts() -> str:
    """Return the folder of the shipped layouts."""
    from offcut.importers import layout

    return str(Path(layout.__file__).parent / "layouts")


def test_hostile_texts_stay_texts(birds: Shop) -> None:
    text = 'Owl ""q"" \\ ; #x ^y 2025-01-01 open Assets:Evil'
    birds.run(birds.orders(ONE.replace("Owl sticker", text)))
    rule(birds)
    birds.run(birds.orders(ONE.replace("Owl sticker", text)))

    (move,) = moves(birds)
    assert move.postings[0].meta["item-text"] == text.replace('""', '"')
    assert move.links == {"order-W1"}


def test_unknown_texts_are_counted_with_sum_and_latest_day(birds: Shop) -> None:
    later = ONE.replace("W1,2025-03-03", "W9,2025-05-01").replace(",2,", ",5,")
    birds.run(birds.orders(ONE, later, ONE.replace("Owl", "Wren"), OTHER))
    known = scan_ledger(birds.ledger)
    parked = parked_lines(known, shipped_layouts().values())
    match = item_matcher([ItemRule("wren*", "WREN-STK", "")], known.commodities)

    (unknown,) = unknown_texts(parked, match)
    assert (unknown.text, unknown.lines, unknown.amount) == (
        "Owl sticker",
        2,
        Decimal("28.00"),
    )
    assert unknown.latest.isoformat() == "2025-05-01"
    assert unknown.accounts == ("Income:Suspense:Web",)


STOCKED = f"""plugin "offcut.plugins"
{BIRDS}2025-01-01 commodity MAILER
  stock: "material"
2025-01-01 custom "packing" "letter" 1 MAILER
2025-01-01 open Assets:Bank
2025-01-01 * "Bought"
  Assets:Stock:OWL-STK     910 OWL-STK {{1.00 USD}}
  Assets:Stock:WREN-STK    910 WREN-STK {{1.00 USD}}
  Assets:Stock:HERON-STK    10 HERON-STK {{1.00 USD}}
  Assets:Materials:MAILER 1000 MAILER {{0.10 USD}}
  Assets:Bank
2025-01-02 * "Bought dearer"
  Assets:Stock:HERON-STK   900 HERON-STK {{2.00 USD}}
  Assets:Bank
"""
LINE = st.tuples(
    st.sampled_from(["Owl", "Wren", "Heron"]),
    st.sampled_from([1, 2, 3, -1]),
    st.sampled_from(["0.00", "4.00", "2.50"]),
    st.sampled_from(["0.00", "0.50"]),
)
ORDERS = st.lists(
    st.tuples(st.integers(3, 5), st.lists(LINE, min_size=1, max_size=3)),
    min_size=1,
    max_size=4,
)


@given(
    orders=ORDERS,
    paid=st.lists(
        st.tuples(st.integers(0, 3), st.sampled_from(["Sale", "Refund"])), max_size=4
    ),
    edited=st.none() | st.lists(LINE, min_size=1, max_size=3),
    steps=st.permutations(["orders", "edit", "payments", "owl", "wren"]),
)
def test_books_are_those_of_rules_known_from_the_start(
    tmp_path_factory: pytest.TempPathFactory,
    orders: list[tuple[int, list[tuple[str, int, str, str]]]],
    paid: list[tuple[int, str]],
    edited: list[tuple[str, int, str, str]] | None,
    steps: list[str],
) -> None:
    """All accounts have the same balances, products the same discounts, shelves units.

    The pieces that are learned are of one cost: of several that come back to an order on
    one day, some of them given away, nothing says which is which.
    """
    if steps.index("edit") < steps.index("orders"):
        edited = None  # a shop exports what was first before what it became

    def rows_of(orders: list[tuple[int, list[tuple[str, int, str, str]]]]) -> list[str]:
        return [
            f"W{at},2025-03-0{day},{text},{count},{price},"
            f"{discount if count > 0 and price != '0.00' else '0.00'},2.50,0.00,USD"
            for at, (day, lines) in enumerate(orders)
            for text, count, price, discount in lines
        ]

    rows = rows_of(orders)
    rows_now = rows_of([(orders[0][0], edited), *orders[1:]]) if edited else rows
    movements = []
    for at, (order, what) in enumerate(paid):
        sign = "" if what == "Sale" else "-"
        movements.append(
            f"2025-03-06,{what},W{order},,{sign}6.50,0.00,{sign}6.50,USD,ch_{at}"
        )
    learned, known = (
        new_shop(
            tmp_path_factory.mktemp("birds"),
            ledger=STOCKED,
            settings=SETTINGS + '[packing]\nWeb = "letter"\n',
        )
        for _ in range(2)
    )
    rule(known, OWL + WREN)
    for step in steps:
        for shop in (learned, known):
            if step == "orders":
                shop.run(shop.orders(*rows))
            elif step == "edit":
                shop.run(shop.orders(*(rows_now if edited else [])), are_newer=True)
            elif step == "payments":
                shop.run(shop.payments(*movements))
            elif shop is learned:
                rule(shop, OWL if step == "owl" else WREN)
                shop.run(shop.payments())
    for shop in (learned, known):
        shop.run(shop.orders(*rows_now))

    assert sums(learned) == sums(known)
    assert discounts(learned) == discounts(known)
    before = imported(learned)
    learned.run(learned.orders(*rows_now), learned.payments(*movements))
    assert imported(learned) == before


def discounts(shop: Shop) -> dict[str, Decimal]:
    """Return what was taken off, by the product or by the text that is none yet."""
    found: dict[str, Decimal] = defaultdict(Decimal)
    for transaction in shop.transactions():
        for posting in transaction.postings:
            meta = posting.meta or {}
            if posting.account == "Income:Discounts:Web":
                found[meta.get("item") or meta.get("discount-of", "")] += (
                    posting.units.number
                )
    return {name: number for name, number in found.items() if number}


def imported(shop: Shop) -> dict[str, bytes]:
    """Return the bytes of the files under `imports/`."""
    return {k: each for k, each in shop.contents().items() if k.startswith("imports")}


def sums(shop: Shop) -> dict[tuple[str, str], Decimal]:
    """Return the sum of each account and currency, with what the plugins add."""
    entries, errors, _ = loader.load_file(str(shop.ledger))
    assert [error.message for error in errors] == []
    found: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for transaction in data.filter_txns(entries):
        for posting in transaction.postings:
            found[posting.account, posting.units.currency] += posting.units.number
    return {key: number for key, number in sorted(found.items()) if number}
