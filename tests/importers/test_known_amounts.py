"""Tests of payments that the ledger has with another amount."""

from __future__ import annotations

import pytest

from tests.importers.movements import import_rows
from tests.importers.shop import Shop

SALE = "2025-03-04,Sale,W1,x,11.00,0.61,10.39,USD,ch_1"
OTHER = "2025-03-04,Sale,W1,x,12.00,0.61,11.39,USD,ch_1"
NOTE = (
    "Web order W1, payments.csv row 2: 11.39 USD in the file and 10.39 USD in the ledger, "
    "which has the row's id and was not changed; correct it there if the file is right"
)


def test_another_amount_is_noted_and_not_booked(shop: Shop) -> None:
    shop.run(shop.payments(SALE))
    before = shop.text("card-2025-03.beancount")

    report = shop.run(shop.payments(OTHER))

    assert NOTE in report.notes
    assert shop.text("card-2025-03.beancount") == before


def test_the_same_rows_again_have_no_note(shop: Shop) -> None:
    rows = (
        SALE,
        "2025-03-05,Payout,,x,-5.00,0,-5.00,USD,po_1",
        '2025-03-06,Sale,W2,x,3.00,0,3.00,USD,"with ""quotes"" \\"',
    )
    shop.run(shop.payments(*rows), shop.orders("W1,2025-03-04,Heron,1,11.00,0,0,0,USD"))

    assert shop.run(shop.payments(*rows)).notes == ()


def test_movements_of_two_postings_have_no_note_again(shop: Shop) -> None:
    rows = (
        "2025-03-07,exchange,,e,-100,1,,,-101,USD,r1,s5",
        "2025-03-07,exchange,,e,90,0,,,90,EUR,r1,s6",
        "2025-03-07,card used,W1,e,9,0.20,,,8.80,USD,,s7",
        "2025-03-07,card used,W2,e,9,0,,,9,USD,,s8",
    )
    import_rows(shop, *rows)

    assert import_rows(shop, *rows).notes == ()


@pytest.mark.parametrize(
    ("old", "new", "noted"),
    [
        ("                 10.39 USD", " 10.39 USD ; checked", False),
        ("                 10.39 USD", "", False),
        ("10.39 USD", "9.39 + 1 USD", False),
        ("Assets:Clearing:Card   ", "Assets:Clearing:Other  ", False),
        ("  source-id", "    source-id", False),
        ("10.39 USD", "9.39 USD ; wrong", True),
    ],
)
def test_only_another_amount_is_told_of_what_was_edited(
    shop: Shop, old: str, new: str, noted: bool
) -> None:
    shop.run(shop.payments(SALE))
    path = shop.folder / "imports" / "card-2025-03.beancount"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))

    assert bool(shop.run(shop.payments(SALE)).notes) is noted


def test_of_many_the_first_twenty_are_listed(shop: Shop) -> None:
    rows = [f"2025-03-04,Payout,,x,-{n}.00,0,-{n}.00,USD,p{n}" for n in range(1, 31)]
    others = [f"2025-03-04,Payout,,x,-{n}.50,0,-{n}.50,USD,p{n}" for n in range(1, 31)]
    shop.run(shop.payments(*rows))

    notes = shop.run(shop.payments(*others)).notes

    assert len(notes) == 21
    assert notes[-1] == "and 10 more payments differ so"


def test_windows_line_ends_have_no_note(shop: Shop) -> None:
    shop.run(shop.payments(SALE), shop.orders("W1,2025-03-04,Heron,1,11.00,0,0,0,USD"))
    path = shop.folder / "imports" / "card-2025-03.beancount"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))

    assert shop.run(shop.payments(SALE)).notes == ()


def test_row_that_is_in_the_ledger_twice_is_right_once_one_of_them_is(shop: Shop) -> None:
    shop.run(shop.payments(SALE))
    text = shop.text("card-2025-03.beancount")
    path = shop.folder / "imports" / "twice.beancount"
    path.write_text(text.replace("10.39", "10.38") + "\n" + text + "\n" + text)

    assert shop.run(shop.payments(SALE)).notes == ()


def test_of_two_files_the_one_with_another_amount_is_told_of(shop: Shop) -> None:
    shop.run(shop.payments(SALE))

    report = shop.run(shop.payments(SALE, name="same.csv"), shop.payments(OTHER))

    assert [note for note in report.notes if "W1" in note] == [NOTE]
