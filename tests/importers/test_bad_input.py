"""Files that are wrong: one clear line each, and nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.importers.shop import ORDERS, PAYMENTS, Shop

SALE = "2025-03-04,Sale,W1042,Web order,11.00,0.61,10.39,USD,ch_1"
LINES = 'W1042,2025-03-03,"Heron at Dusk, 3 in",2,4.00,0.00,2.50,0.50,USD'


@pytest.mark.parametrize(
    ("right", "wrong", "column", "expected"),
    [
        (
            "2025-03-04",
            "04.03.2025",
            "Date",
            "a date such as 2025-03-31, found '04.03.2025'",
        ),
        (
            "2025-03-04",
            "2025-02-30",
            "Date",
            "a date such as 2025-03-31, found '2025-02-30'",
        ),
        ("2025-03-04", "", "Date", "a date such as 2025-03-31, found ''"),
        (
            "2025-03-04",
            "0025-03-04",
            "Date",
            "a date such as 2025-03-31, found '0025-03-04'",
        ),
        ("Sale", "Sold", "Type", "one of the words Adjustment, Conversion, Deposit"),
        ("11.00", "abc", "Gross", "a number such as 1,234.50, found 'abc'"),
        ("11.00", "", "Gross", "a number such as 1,234.50, found ''"),
        ("11.00", "1e1", "Gross", "a number such as 1,234.50, found '1e1'"),
        ("11.00", "NaN", "Gross", "a number such as 1,234.50, found 'NaN'"),
        ("11.00", '"11,00"', "Gross", "a number such as 1,234.50, found '11,00'"),
        (
            "11.00",
            "11.005",
            "Gross",
            "an amount in whole units of 0.01 USD, found '11.005'",
        ),
        ("10.39", "10.40", "Net", "10.39, which is the gross 11.00 less the fee 0.61"),
        ("USD", "XYZ", "Currency", "USD or EUR or GBP or CAD or AUD, found 'XYZ'"),
        ("USD", "", "Currency", "USD or EUR or GBP or CAD or AUD, found ''"),
    ],
)
def test_wrong_cell_of_a_payment(
    shop: Shop, right: str, wrong: str, column: str, expected: str
) -> None:
    assert right in SALE
    good = SALE.replace("ch_1", "ch_0")

    (line,) = shop.refused(shop.payments(good, SALE.replace(right, wrong, 1)))

    assert line.startswith(f"payments.csv: row 3, column {column}: expected {expected}")
    assert line.endswith(", nothing was imported")
    assert "; correct the row" in line or "; add the word" in line


@pytest.mark.parametrize(
    ("right", "wrong", "column", "expected"),
    [
        ("W1042", "", "Order", "an order number, found ''"),
        ("2025-03-03", "3/3/25", "Date", "a date such as 2025-03-31, found '3/3/25'"),
        ('"Heron at Dusk, 3 in"', "", "Item", "a text that says what was sold, found ''"),
        (",2,", ",two,", "Quantity", "a number such as 1,234.50, found 'two'"),
        (",2,", ",0,", "Quantity", "a number of pieces other than 0, found '0'"),
        (
            ",2,4.00,",
            ",-99999999999999,99999999999999.99,",
            "Quantity",
            "a number of pieces below 1,000,000, found '-99999999999999'",
        ),
        ("4.00", "€4", "Unit price", "an amount in USD, found '€4', which names"),
        (
            ",0.00,",
            ",0.001,",
            "Discount",
            "an amount in whole units of 0.01 USD, found '0.001'",
        ),
        ("2.50", "2,5,0", "Shipping", None),
        ("0.50", "half", "Sales tax", "a number such as 1,234.50, found 'half'"),
        ("USD", "CHF", "Currency", "USD or EUR or GBP or CAD or AUD, found 'CHF'"),
    ],
)
def test_wrong_cell_of_an_order_line(
    shop: Shop, right: str, wrong: str, column: str, expected: str | None
) -> None:
    assert right in LINES

    (line,) = shop.refused(shop.orders(LINES.replace(right, wrong, 1)))

    if expected is None:
        assert line.startswith("orders.csv: row 2: expected 9 cells, found 11")
    else:
        assert line.startswith(f"orders.csv: row 2, column {column}: expected {expected}")


def test_missing_column(shop: Shop) -> None:
    file = shop.file(
        "payments.csv", PAYMENTS.replace(",Fee", ""), SALE.replace(",0.61", "")
    )

    (line,) = shop.refused(file)

    assert line == (
        "payments.csv: row 1, column Fee: expected the columns of card-payments, which is "
        "nearest, but there is no Fee; export the file again, or choose another by "
        "--layout, nothing was imported"
    )


def test_columns_that_no_layout_knows(shop: Shop) -> None:
    (line,) = shop.refused(shop.file("odd.csv", "When,What", "2025-01-01,1"))

    assert line.startswith(
        "odd.csv: row 1: no layout knows these columns: When, What; have a "
        "layout proposed by `offcut layout FILE`, then import again"
    )


def test_columns_with_another_mark_between_them(shop: Shop) -> None:
    (line,) = shop.refused(shop.file("odd.csv", PAYMENTS.replace(",", ";"), SALE))

    assert "no layout knows these columns: Date;Type;" in line
    assert "`offcut layout FILE` and check that it has delimiter = ';' in [file]" in line


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_file_in_utf_16(shop: Shop, encoding: str) -> None:
    file = shop.file("wide.csv")
    file.write_bytes(f"{PAYMENTS}\n{SALE}\n".encode(encoding))

    (line,) = shop.refused(file)

    assert line.startswith("wide.csv: row 1: expected text in the encoding of a layout, ")
    assert "save it as CSV in utf-8, or name its encoding in the [file]" in line
    assert line.isprintable()


def test_folder_is_named(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(shop.folder)

    (line,) = shop.refused(Path())

    assert line.startswith(".: the file cannot be read (Is a directory)")


@pytest.mark.parametrize("header", [PAYMENTS, ORDERS])
def test_cut_off_file(shop: Shop, header: str) -> None:
    whole = SALE if header == PAYMENTS else LINES

    (line,) = shop.refused(shop.file("cut.csv", header, whole, whole[:-12]))

    assert line.startswith("cut.csv: row 3: expected 9 cells, found ")
    assert "the file seems cut off, export it again" in line


def test_quotation_that_is_not_closed(shop: Shop) -> None:
    (line,) = shop.refused(shop.orders(LINES, LINES.replace('3 in"', "3 in")))

    assert line.startswith(
        "orders.csv: row 3: expected whole quoted texts and cells, found:"
    )


@pytest.mark.parametrize("contents", [b"", b"\n\n", b"  \r\n"])
def test_empty_file(shop: Shop, contents: bytes) -> None:
    path = shop.folder / "empty.csv"
    path.write_bytes(contents)

    assert shop.refused(path) == [
        "empty.csv: the file is empty, expected a header and rows; export it again, "
        "nothing was imported"
    ]


def test_file_that_is_not_there(shop: Shop) -> None:
    (line,) = shop.refused(shop.folder / "gone.csv")

    assert line.startswith("gone.csv: the file cannot be read (No such file or directory)")


def test_folder_in_place_of_a_file(shop: Shop) -> None:
    (line,) = shop.refused(shop.folder)

    assert "the file cannot be read (Is a directory)" in line


def test_wrong_encoding(shop: Shop) -> None:
    path = shop.folder / "latin.csv"
    path.write_bytes(f"{PAYMENTS}\n{SALE.replace('Web order', 'Café')}\n".encode("latin-1"))

    (line,) = shop.refused(path)

    assert line.startswith("latin.csv: row 2: expected text in utf-8, found the byte 0xe9")


def test_utf_16_is_named_as_another_encoding(shop: Shop) -> None:
    path = shop.folder / "wide.csv"
    path.write_bytes(f"{PAYMENTS}\n{SALE}\n".encode("utf-16"))

    (line,) = shop.refused(path, layouts=["card-payments"])

    assert "nothing was imported" in line


def test_one_id_with_two_contents(shop: Shop) -> None:
    other = SALE.replace("11.00,0.61,10.39", "12.00,0.61,11.39")

    (line,) = shop.refused(shop.payments(SALE, other))

    assert line == (
        "payments.csv: row 3, column Reference: expected an id of its own or the same row "
        "again, found 'ch_1', which row 2 has with other contents; correct the file, "
        "or leave id out of the layout's [columns] where rows may share one, nothing was "
        "imported"
    )


def test_repeated_row_is_left_out_and_said(shop: Shop) -> None:
    report = shop.run(shop.payments(SALE, SALE))

    assert (report.files[0].booked, report.files[0].left_out) == (1, {"repeated row": 1})
    assert len(shop.transactions()) == 1


@pytest.mark.parametrize(
    ("column", "right", "wrong"),
    [
        ("Shipping", "2.50", "3.00"),
        ("Sales tax", "0.50", "0.00"),
        ("Currency", "USD", "EUR"),
    ],
)
def test_lines_of_an_order_that_disagree(
    shop: Shop, column: str, right: str, wrong: str
) -> None:
    (line,) = shop.refused(shop.orders(LINES, LINES.replace(right, wrong)))

    assert line.startswith(
        f"orders.csv: row 3, column {column}: expected {right} as in row 2 of the same "
        f"order, found {wrong}; correct the row"
    )


def test_every_wrong_row_is_named(shop: Shop) -> None:
    lines = shop.refused(
        shop.payments(
            SALE.replace("2025-03-04", "soon"),
            SALE.replace("Sale", "Sold").replace("ch_1", "ch_2"),
            SALE.replace("11.00", "eleven").replace("ch_1", "ch_3"),
        )
    )

    assert [line.partition(": expected")[0] for line in lines] == [
        "payments.csv: row 2, column Date",
        "payments.csv: row 3, column Type",
        "payments.csv: row 4, column Gross",
    ]


def test_file_that_ends_before_its_last_cell_seems_cut_off(shop: Shop) -> None:
    rows = [SALE.replace("W1042", f"W{n}").replace("ch_1", f"ch_{n}") for n in range(4)]
    file = shop.payments(*rows[:3], rows[3].replace("ch_3", ""))
    assert shop.run(file, dry_run=True).ties  # a row may have no reference

    file.write_text(file.read_text().rstrip("\n"))
    (line,) = shop.refused(file)
    assert line.startswith(
        "payments.csv: row 5, column Reference: expected a last cell as in the other rows"
    )
