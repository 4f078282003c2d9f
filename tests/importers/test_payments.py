"""Reading files of payments: which columns make an amount, and what contradicts them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from offcut.importers.layout import Layout, layout_of
from offcut.importers.payments import read_payments
from offcut.importers.problems import ImportRefused
from offcut.importers.records import Payment
from offcut.importers.source_file import read_source

BASE = {"kind": "payments", "source": "card", "channel": "Web", "currency": ["USD", "JPY"]}


def layout(columns: dict[str, object], **more: object) -> Layout:
    """Return a layout of sales with these columns beside the date."""
    table = {**BASE, "columns": {"date": "Day", **columns}, "types": {"default": "sale"}}
    return layout_of("test", {**table, **more}, "test.toml")


def read(of: Layout, *lines: str) -> list[Payment]:
    """Return the payments of a file of these lines."""
    text = "".join(f"{line}\n" for line in lines)
    return read_payments(read_source("p.csv", text.encode(), of)).payments


def refused(of: Layout, *lines: str) -> list[str]:
    """Return what is said of a file that is refused."""
    with pytest.raises(ImportRefused) as caught:
        read(of, *lines)
    return [str(problem) for problem in caught.value.problems]


CREDIT_DEBIT = {"credit": "In", "debit": "Out"}


def test_credit_and_debit_are_one_amount() -> None:
    payments = read(
        layout(CREDIT_DEBIT),
        "Day,In,Out",
        "2025-03-01,5.00,",
        "2025-03-02,,7.25",
        "2025-03-03,0.00,1.00",
        "2025-03-04,0.00,",
    )

    amounts = [(each.gross, each.net) for each in payments]
    assert amounts == [(Decimal(a), Decimal(a)) for a in ("5.00", "-7.25", "-1.00", "0.00")]


def test_debits_may_be_written_negative_where_the_layout_says_so() -> None:
    of = layout(CREDIT_DEBIT, forms={"debit": "negative"})

    assert [each.gross for each in read(of, "Day,In,Out", "2025-03-02,,-7.25")] == [
        Decimal("-7.25")
    ]
    (line,) = refused(of, "Day,In,Out", "2025-03-02,,7.25")
    assert line.startswith(
        "p.csv: row 2, column Out: expected a negative amount, found 7.25"
    )


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (
            "5.00,7.00",
            "column In: expected an amount in one of In and Out, found 5.00 and 7",
        ),
        (",", "column In: expected an amount in one of In and Out, found none"),
        ("-5.00,", "column In: expected a positive amount, found -5.00"),
        (",-7.25", "column Out: expected a positive amount, found -7.25"),
        (",seven", "column Out: expected a number"),
    ],
)
def test_wrong_credit_or_debit_is_refused(row: str, said: str) -> None:
    (line,) = refused(
        layout(CREDIT_DEBIT), "Day,In,Out", "2025-03-01,1.00,", f"2025-03-02,{row}"
    )

    assert line.startswith(f"p.csv: row 3, {said}")


def test_credit_without_debit_is_no_layout() -> None:
    with pytest.raises(ImportRefused, match="expected both credit and debit"):
        layout({"credit": "In"})


def test_several_fees_are_added_up_and_blank_is_nothing() -> None:
    of = layout({"gross": "Sum", "fee": ["Fee", "Card", "Ads"], "net": "Net"})

    (payment,) = read(of, "Day,Sum,Fee,Card,Ads,Net", "2025-03-01,10,0.30,,1.20,8.50")

    assert (payment.fee, payment.net) == (Decimal("1.50"), Decimal("8.50"))
    (line,) = refused(of, "Day,Sum,Fee,Card,Ads,Net", "2025-03-01,10,0.30,x,1.20,8.50")
    assert line.startswith("p.csv: row 2, column Card: expected a number")
    (line,) = refused(of, "Day,Sum,Fee,Card,Ads,Net", "2025-03-01,10,0.30,1,1.20,8.50")
    assert line.startswith("p.csv: row 2, column Net: expected 7.50, which is the gross 10")


@pytest.mark.parametrize(
    ("columns", "cells", "expected"),
    [
        (
            {"gross": "A", "fee": "B", "tax-remitted": "C", "net": "D"},
            "10,1,2,7",
            "10 1 2 7",
        ),
        ({"gross": "A", "fee": "B", "tax-remitted": "C"}, "10,1,2,", "10 1 2 7"),
        ({"fee": "B", "tax-remitted": "C", "net": "D"}, ",1,2,7", "10 1 2 7"),
        ({"gross": "A", "tax-remitted": "C", "net": "D"}, "10,,2,7", "10 1 2 7"),
        ({"gross": "A", "tax-remitted": "C"}, "-10,,-2,", "-10 0 -2 -8"),
    ],
)
def test_gross_less_fee_and_tax_kept_back_is_net(
    columns: dict[str, object], cells: str, expected: str
) -> None:
    (payment,) = read(layout(columns), "Day,A,B,C,D", f"2025-03-01,{cells}")

    found = (payment.gross, payment.fee, payment.remitted, payment.net)
    assert found == tuple(map(Decimal, expected.split()))


def test_tax_kept_back_may_be_written_negative() -> None:
    columns: dict[str, object] = {"gross": "A", "tax-remitted": "C", "net": "D"}
    negative = layout({**columns, "fee": "B"}, forms={"tax-remitted": "negative"})

    (payment,) = read(negative, "Day,A,B,C,D", "2025-03-01,10,0,-2,8")

    assert payment.remitted == Decimal(2)
    (line,) = refused(
        layout({**columns, "fee": "B"}), "Day,A,B,C,D", "2025-03-01,10,0,-2,8"
    )
    assert (
        "expected 12.00, which is the gross 10.00 less the fee 0.00 and the tax -2" in line
    )
    assert "[forms] fee or tax-remitted" in line


def test_tip_payee_and_reference_are_read() -> None:
    of = layout({"gross": "A", "tip": "T", "payee": "Who", "reference": "R"})

    (payment,) = read(of, "Day,A,T,Who,R", '2025-03-01,10,,"Ann  O\'Neil",r 1')
    assert (payment.tip, payment.payee, payment.reference) == (0, "Ann O'Neil", "r 1")
    (payment,) = read(of, "Day,A,T,Who,R", "2025-03-01,10,1.50,,")
    assert payment.tip == Decimal("1.50")


def test_several_orders_of_one_payment() -> None:
    of = layout({"gross": "A", "order": "O"}, orders={"several": ",", "prefix": "M-"})

    payments = read(
        of,
        "Day,A,O",
        '2025-03-01,10,"#1, 2 ,#1"',
        '2025-03-01,10,"3,"',
        "2025-03-01,10,",
    )

    assert [(each.order, each.orders) for each in payments] == [
        ("", ("M-1", "M-2")),
        ("M-3", ()),
        ("", ()),
    ]
    assert payments[0].number == "#1, 2 ,#1"


def test_rule_for_a_column_that_is_not_there_is_refused() -> None:
    rule = {"column": "Shop", "equals": "x", "account": "Income:Other"}

    (line,) = refused(
        layout({"gross": "A"}, **{"book-to": [rule]}), "Day,A", "2025-03-01,1"
    )

    assert line.startswith("p.csv: [[book-to]] looks at the column 'Shop', which the file")


def test_ignored_rows_do_not_shift_what_others_say() -> None:
    table = {
        **BASE,
        "columns": {"date": "Day", "type": "K", "gross": "A", "payee": "Who", "tip": "T"},
        "types": {"sale": ["s"], "ignore": ["i"]},
        "book-to": [{"column": "Who", "equals": "c", "account": "Income:Other"}],
    }
    payments = read(
        layout_of("test", table, "test.toml"),
        "Day,K,A,Who,T",
        "2025-03-01,i,1,a,0.10",
        "2025-03-01,s,2,b,0.20",
        "2025-03-01,i,3,c,0.30",
        "2025-03-01,s,4,c,0.40",
    )

    found = [(each.row, each.payee, each.tip, each.account) for each in payments]
    assert found == [
        (3, "b", Decimal("0.20"), ""),
        (5, "c", Decimal("0.40"), "Income:Other"),
    ]


def test_amounts_of_a_currency_without_cents() -> None:
    of = layout({**CREDIT_DEBIT, "currency": "Money"})

    (line,) = refused(of, "Day,In,Out,Money", "2025-03-01,1.50,,JPY")
    assert line.startswith(
        "p.csv: row 2, column In: expected an amount in whole units of 1"
    )
