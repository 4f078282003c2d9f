"""What is proposed for an unknown file reads what is in it, or says its doubt."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from offcut.importers.importing import read_records
from offcut.importers.layout import read_layout
from offcut.importers.problems import ImportRefused
from offcut.importers.proposal.proposing import Proposal, Wishes, propose_file
from offcut.importers.values import one_line
from tests.importers.proposal.strange_files import Strange, strange_file

SEEDS = 150
WISHES = Wishes(channel="Web", currency="USD")


def propose_strange(strange: Strange, path: Path) -> Proposal:
    # What no layout reads has to be doubted for itself, not for the kind of the file.
    kind = "" if strange.readable else strange.kind
    wishes = Wishes("my-file", kind, channel="Web", currency=strange.currency)
    return propose_file(path, wishes, {})


def wrong_records(strange: Strange, proposal: Proposal) -> str:
    """Return what is read otherwise than it was written; empty where all is right."""
    if proposal.layout.kind != strange.kind:
        return f"kind {proposal.layout.kind}, not {strange.kind}"
    read = read_records("f.csv", strange.contents, proposal.layout)
    found: list[tuple[Any, ...]] = []
    wanted: list[tuple[Any, ...]] = []
    for order in read.orders:
        whole = (order.date, order.number, order.currency, order.shipping, order.tax)
        for line in order.lines:
            found.append((*whole, line.item, line.quantity, line.amount, line.discount))
    firsts: dict[str, Any] = {}
    for each in strange.records if strange.kind == "order-lines" else ():
        first = firsts.setdefault(each["order"], each)
        whole = (each["day"], each["order"], each["currency"])
        whole += (first["shipping"], first["tax"])
        amount = each.get("amount") or each["unit-price"] * each["quantity"]
        item = (one_line(each["item"]), each["quantity"], amount, each.get("discount", 0))
        wanted.append((*whole, *item))
    for payment in read.payments:
        amounts = (payment.gross, payment.fee, payment.net, payment.currency)
        texts = (payment.text, payment.number, payment.id)
        found.append((payment.date, payment.movement, *amounts, *texts))
    for each, read_as in zip(strange.records, read.payments, strict=False):
        gross = each.get("gross")
        if gross is None:
            gross = (each["credit"] or 0) - (each["debit"] or 0)
        fee = each.get("fee", 0)
        texts = (each["text"], each.get("order", ""), each.get("id", read_as.id))
        amounts = (gross, fee, gross - fee, each["currency"])
        wanted.append((each["day"], each["movement"], *amounts, *texts))
    pairs = zip(found, wanted, strict=False)
    differ = next((f"found {f}, wanted {w}" for f, w in pairs if f != w), "")
    rows = len(strange.records)
    return differ or ("" if len(found) == rows else f"{len(found)} records, not {rows}")


def check_seeds(seeds: range, folder: Path) -> Counter[str]:
    """Propose for each file; return how many readable ones had doubts, how many none."""
    counts: Counter[str] = Counter()
    for seed in seeds:
        strange = strange_file(seed)
        path = folder / "f.csv"
        path.write_bytes(strange.contents)
        proposal = propose_strange(strange, path)
        written = folder / "my-file.toml"
        written.write_text(proposal.text, "utf-8")
        assert read_layout(written).columns == proposal.layout.columns
        if strange.readable:
            counts["doubt" if proposal.doubts else "certain"] += 1
        if not proposal.doubts:
            assert strange.readable, f"seed {seed}: no layout can say it, and no doubt does"
            assert wrong_records(strange, proposal) == "", f"seed {seed}"
    return counts


def test_certain_layouts_are_right(tmp_path: Path) -> None:
    counts = check_seeds(range(SEEDS), tmp_path)
    print(f"without doubt: {counts['certain']} of {counts.total()}")
    assert counts["certain"] > 0.8 * counts.total()


@pytest.mark.slow
def test_certain_layouts_are_right_of_many(tmp_path: Path) -> None:
    counts = check_seeds(range(SEEDS, SEEDS + 2000), tmp_path)
    print(f"without doubt: {counts['certain']} of {counts.total()}")
    assert counts["certain"] > 0.8 * counts.total()


def proposal(folder: Path, text: str, wishes: Wishes = WISHES, **answers: str) -> Proposal:
    file = folder / "card.csv"
    file.write_text(text, "utf-8", newline="")
    given = {key.replace("__", "."): value for key, value in answers.items()}
    return propose_file(file, wishes, given)


def doubts(found: Proposal) -> list[str]:
    return [doubt.key for doubt in found.doubts]


def test_order_of_day_and_month_is_asked(tmp_path: Path) -> None:
    text = "Date,Type,Amount,Fee\n03/04/2025,Sale,1.00,0.10\n"
    found = proposal(tmp_path, text)
    assert doubts(found) == ["forms.date"]
    assert "DOUBT" in found.text
    answered = proposal(tmp_path, text, forms__date="%m/%d/%Y")
    assert doubts(answered) == []
    assert answered.layout.dates == ("%m/%d/%Y",)


MONTHS = "Datum;Text;Betrag;Saldo\n{};Miete;-5,00;10,00\n{};Tinte;-1,00;9,00\n"
BANK = WISHES._replace(kind="bank", currency="EUR")


@pytest.mark.parametrize(
    ("cells", "form", "language"),
    [
        (("31. März 2025", "1. April 2025"), "%d. %b %Y", "de"),
        (("30 juil. 2025", "31 août 2025"), "%d %b %Y", "fr"),
        (("31 de enero de 2025", "1 de mayo de 2025"), "%d de %b de %Y", "es"),
        (("2025. márc. 30.", "2025. ápr. 1."), "%Y. %b %d.", "hu"),
        (("måndag 31 mars 2025", "tisdag 1 april 2025"), "%a %d %b %Y", "sv"),
        (("30. Okt. 25", "1. März 25"), "%d. %b %y", "de"),
    ],
)
def test_months_by_name_are_read_in_their_language(
    tmp_path: Path, cells: tuple[str, str], form: str, language: str
) -> None:
    text = MONTHS.format(*cells)
    found = proposal(tmp_path, text, BANK)
    assert doubts(found) == []
    assert found.layout.dates == (form,)
    assert found.layout.date_locale == language
    read = read_records("f.csv", text.encode(), found.layout).payments
    assert [each.date.day for each in read] == [int(each) for each in _days(cells)]


def _days(cells: tuple[str, str]) -> list[str]:
    numbers = (re.findall("[0-9]+", cell) for cell in cells)
    return [next(each for each in found if len(each) < 3) for found in numbers]


def test_language_of_months_that_several_have_is_asked(tmp_path: Path) -> None:
    text = MONTHS.format("1 lis 2025", "2 lis 2025")
    found = proposal(tmp_path, text, BANK)
    assert doubts(found) == ["forms.date-locale"]
    (doubt,) = found.doubts
    assert [(each.value, each.meaning) for each in doubt.choices] == [
        ("pl", "Polish: 1 lis 2025 is 1 November 2025"),
        ("hr", "Croatian: 1 lis 2025 is 1 October 2025"),
    ]
    assert "# DOUBT: In which language are the names of the months" in found.text
    answered = proposal(tmp_path, text, BANK, **{"forms__date-locale": "hr"})
    assert doubts(answered) == []
    read = read_records("f.csv", text.encode(), answered.layout).payments
    assert [each.date.month for each in read] == [10, 10]


def test_dates_of_no_language_are_named(tmp_path: Path) -> None:
    with pytest.raises(ImportRefused, match="found '31 Mrz 2025' in 'Datum'"):
        proposal(tmp_path, MONTHS.format("31 Mrz 2025", "1 Apx 2025"), BANK)


@pytest.mark.parametrize(
    "above", [";;;;", "Konto 12;;;;\n;;;;", '"";"";""', "; ; ;", ";\n;;"]
)
def test_a_line_of_delimiters_is_no_heading(tmp_path: Path, above: str) -> None:
    text = f"{above}\n{MONTHS.format('31.03.2025', '31.03.2025')}"
    found = proposal(tmp_path, text, BANK)
    assert doubts(found) == []
    assert found.layout.columns["date"] == ("Datum",)
    assert found.layout.file.preamble == above.count("\n") + 1
    assert len(read_records("f.csv", text.encode(), found.layout).payments) == 2


@pytest.mark.parametrize("kind", ["bank", "payments"])
def test_currency_that_nothing_names_is_asked(tmp_path: Path, kind: str) -> None:
    text = "Date,Text,Amount\n2025-03-30,Rent,-5.00\n2025-03-31,Ink,-1.00\n"
    wishes = Wishes(kind=kind, channel="Web", usual_currency="CAD")
    given = {"types__default": "adjustment"}
    found = proposal(tmp_path, text, wishes, **given)
    assert doubts(found) == ["currency"]
    assert [each.value for each in found.doubts[0].choices] == ["CAD", "USD", "EUR", "GBP"]
    assert "# DOUBT: Which currency" in found.text
    assert found.layout.currencies == ("CAD",)
    answered = proposal(tmp_path, text, wishes, currency="EUR", **given)
    assert (doubts(answered), answered.layout.currencies) == ([], ("EUR",))
    assert doubts(proposal(tmp_path, text, wishes._replace(currency="USD"), **given)) == []
    dollars = text.replace("-5.00", "-$5.00")  # the ledger's own, which the symbol may be
    assert doubts(proposal(tmp_path, dollars, wishes, **given)) == []


ORDER_HEADINGS = (
    *("Bestell-Nr.", "Bestellnr", "Auftrags-Nr", "Bestellungs-Nummer", "N° commande"),
    *("Nº de pedido", "Numéro de cmde", "Order #", "Order Ref.", "Ordine n.", "ORDER NO."),
    *("Nr zamówienia", "Číslo objednávky", "Tilausnumero", "Sipariş No", "Ordrenummer"),
    *("Rendelésszám", "Номер заказа", "Αριθμός παραγγελίας", "注文番号", "주문번호"),
)
LINES = "Date,{},Item,Quantity,Unit price\n"
TAKINGS = "Date,Type,{},Gross,Fee,Net\n"


def order_lines(code: str) -> str:
    rows = ((1, 0, 1), (1, 1, 2), (2, 2, 1), (3, 3, 2), (3, 0, 1), (4, 1, 2))
    return "".join(
        f"2025-03-0{order},{code.format(order)},Card {item},{pieces},{item + 2}.00\n"
        for order, item, pieces in rows
    )


def takings(code: str) -> str:
    rows = range(1, 7)
    return "".join(
        f"2025-03-0{at},Sale,{code.format(at)},{at}.00,0.10,{at - 1}.90\n" for at in rows
    )


@pytest.mark.parametrize("heading", ORDER_HEADINGS)
def test_order_numbers_are_told_by_their_heading(tmp_path: Path, heading: str) -> None:
    for first, rows in ((LINES, order_lines), (TAKINGS, takings)):
        found = proposal(tmp_path, first.format(heading) + rows("WM/{}/2025"))
        assert doubts(found) == []
        assert found.layout.columns["order"] == (heading,)


@pytest.mark.parametrize("code", ["W100{}", "2025-000{}-AB", "MO/2025/{}", "a{}f3c9e"])
def test_order_numbers_whose_heading_says_nothing_are_asked(
    tmp_path: Path, code: str
) -> None:
    for first, rows in ((LINES, order_lines), (TAKINGS, takings)):
        found = proposal(tmp_path, first.format("Zxq") + rows(code))
        assert doubts(found) == ["columns.order"]
        assert found.layout.columns["order"] == ("Zxq",)


@pytest.mark.parametrize(
    ("heading", "code"),
    [("Order status", "paid"), ("Order status", "level {}"), ("Bestellstatus", "step-{}")],
)
def test_words_about_orders_are_not_taken_for_their_numbers(
    tmp_path: Path, heading: str, code: str
) -> None:
    found = proposal(tmp_path, TAKINGS.format(heading) + takings(code))
    assert doubts(found) in (["columns.order"], [])
    assert doubts(found) or "order" not in found.layout.columns


def test_codes_of_what_was_sold_are_no_orders(tmp_path: Path) -> None:
    rows = "".join(
        f"2025-03-31,HERON-LARGE-{at % 3},Card {at % 3},{at + 1},2.00\n" for at in range(6)
    )
    found = proposal(tmp_path, LINES.format("Zxq") + rows)
    assert found.layout.kind == "tally"
    assert doubts(found) == []


def test_a_tally_of_several_days_is_read(tmp_path: Path) -> None:
    rows = "2026-06-13,Card,2,3.00\n2026-06-14,Card,1,3.00\n"
    found = proposal(tmp_path, f"Date,Item,Pieces,Price\n{rows}")
    assert (found.layout.kind, doubts(found)) == ("tally", [])
    assert found.layout.columns["unit-price"] == ("Price",)


def test_marks_of_numbers_that_read_in_two_ways_are_asked(tmp_path: Path) -> None:
    text = "Order;Date;Item;Quantity;Unit price\nW1;2025-03-31;Card;2;1.250\n"
    found = proposal(tmp_path, text)
    assert "forms.locale" in doubts(found)
    answered = proposal(tmp_path, text, forms__locale="de_DE")
    assert doubts(answered) == []


def test_refunds_written_as_positive_are_a_doubt(tmp_path: Path) -> None:
    rows = "2025-03-31,Sale,5.00,0.10\n2025-03-31,Refund,2.00,0.00\n"
    found = proposal(tmp_path, f"Date,Type,Amount,Fee\n{rows}")
    assert doubts(found) == ["forms.amounts"]


def test_unknown_word_of_a_type_is_asked(tmp_path: Path) -> None:
    rows = "2025-03-31,Sale,5.00,0.10\n2025-03-31,Zzz,-2.00,0.00\n"
    found = proposal(tmp_path, f"Date,Type,Amount,Fee\n{rows}")
    assert doubts(found) == ["types.Zzz"]
    assert found.layout.types["zzz"] == "adjustment"  # waits in suspense meanwhile


UNSIGNED = ["10.00,110.00", "5.00,105.00", "3.00,102.00", "4.00,106.00"]


@pytest.mark.parametrize("heading", ["Balance", "Zz"])
@pytest.mark.parametrize("down", [True, False])
def test_sign_that_only_the_balance_tells_is_a_doubt(
    tmp_path: Path, heading: str, down: bool
) -> None:
    rows = [f"2025-03-31,{row}\n" for row in UNSIGNED]
    text = f"Date,Amount,{heading}\n{''.join(rows if down else rows[::-1])}"
    found = proposal(tmp_path, text, WISHES._replace(kind="bank"))
    (doubt,) = found.doubts
    assert "A layout cannot take the sign from the balance" in doubt.question
    assert doubt.choices == ()
    assert found.first == ""
    with pytest.raises(ImportRefused, match=r"found 10[25]\.00"):
        read_records("f.csv", text.encode(), found.layout)


@pytest.mark.parametrize(
    "rows", ["1.00,7.00\n2025-03-31,2.00,7.00\n2025-03-31,9.00,1.00\n", "1.00,7.00\n"]
)
def test_balance_that_is_none_is_a_doubt(tmp_path: Path, rows: str) -> None:
    text = f"Date,Amount,Balance\n2025-03-31,{rows}"
    assert doubts(proposal(tmp_path, text)) == ["columns.balance"]
    answered = proposal(tmp_path, text, columns__balance="-")
    assert doubts(answered) == []
    assert "balance" not in answered.layout.columns


def test_balance_with_blank_cells_is_proven(tmp_path: Path) -> None:
    rows = "2025-03-30,5.00,\n2025-03-31,-1.00,4.00\n2025-03-31,-1.00,\n"
    rows += "2025-03-31,-2.00,1.00\n"
    found = proposal(tmp_path, f"Date,Amount,Balance\n{rows}")
    assert doubts(found) == []
    assert found.layout.columns["balance"] == ("Balance",)


def test_pair_against_its_balance_is_a_doubt(tmp_path: Path) -> None:
    rows = "2025-03-30,5.00,,5.00\n2025-03-31,,1.00,6.00\n2025-03-31,,1.00,7.00\n"
    found = proposal(tmp_path, f"Date,Paid in,Paid out,Balance\n{rows}")
    (doubt,) = found.doubts
    assert "exchange credit and debit" in doubt.question


@pytest.mark.parametrize("kind", ["bank", "payments"])
@pytest.mark.parametrize("words", ["DC", ("in", "out"), ("Zu", "Ab"), ("CR", ""), "DD"])
def test_column_of_directions_is_a_doubt(
    tmp_path: Path, kind: str, words: tuple[str, str]
) -> None:
    first, second = words
    rows = f"2025-03-30,5.00,{first}\n2025-03-31,4.00,{second}\n2025-03-31,3.00,{first}\n"
    wishes, text = WISHES._replace(kind=kind), f"Date,Amount,D/C\n{rows}"
    given = {"types__default": "sale"}
    assert doubts(proposal(tmp_path, text, wishes, **given)) == ["direction.3"]
    assert doubts(proposal(tmp_path, text, wishes, direction__3="no", **given)) == []
    (left,) = proposal(tmp_path, text, wishes, direction__3="yes", **given).doubts
    assert "D/C says which way money goes, and a layout cannot" in left.question


def test_signed_amounts_beside_directions_are_certain(tmp_path: Path) -> None:
    rows = "2025-03-30,5.00,C\n2025-03-31,-4.00,D\n2025-03-31,-3.00,D\n"
    wishes = WISHES._replace(kind="bank")
    assert doubts(proposal(tmp_path, f"Date,Amount,D/C\n{rows}", wishes)) == []


def test_lines_of_totals_are_left_out(tmp_path: Path) -> None:
    rows = "2025-03-31,Rent,-5.00,6.00\n2025-03-31,Ink,-2.00,4.00\nTotal of 2 rows\n"
    found = proposal(tmp_path, f"Date,Text,Amount,Balance\n{rows}")
    assert doubts(found) == []
    (rule,) = found.layout.leave_out
    assert rule.fits("Total of 37 rows")
    assert not rule.fits("Total")


TOTALLED = "2025-03-30,Rent,{},1.00,{}\n2025-03-31,Ink,20.00,2.00,18.00\n"


def test_totals_that_are_the_sums_are_checked(tmp_path: Path) -> None:
    rows = TOTALLED.format("10.00", "9.00") + "Total,,30.00,3.00,27.00\n"
    found = proposal(tmp_path, f"Date,Text,Amount,Fee,Net\n{rows}")
    assert doubts(found) == []
    assert tomllib.loads(found.text)["totals"] == {"column": "Date", "equals": "Total"}
    assert "leave-out" not in tomllib.loads(found.text)
    assert found.first.count("source-id") == 2
    rows = TOTALLED.format("11.00", "10.00") + "Total,,30.00,3.00,27.00\n"
    with pytest.raises(ImportRefused, match=r"expected 31\.00 USD"):
        read_records("f.csv", f"Date,Text,Amount,Fee,Net\n{rows}".encode(), found.layout)


@pytest.mark.parametrize(
    "rows",
    [
        TOTALLED.format("10.00", "9.00") + "Total,,30.00,3.00,27.01\n",  # another sum
        TOTALLED.format("10.00", "9.00") + "Total,,,,\n",  # no figures
        "Total,,30.00,3.00,27.00\n" + TOTALLED.format("10.00", "9.00"),  # not at the end
        TOTALLED.format("10.00", "9.00") + "Total 2,,30.00,3.00,27.00\n",  # a number
    ],
)
def test_other_totals_are_left_out(tmp_path: Path, rows: str) -> None:
    found = proposal(tmp_path, f"Date,Text,Amount,Fee,Net\n{rows}")
    assert doubts(found) == []
    table = tomllib.loads(found.text)
    assert "totals" not in table
    assert [rule["column"] for rule in table["leave-out"]] == ["Date"]


def test_one_row_and_its_total_are_read(tmp_path: Path) -> None:
    text = "Report for March\n\nDate,Amount\n2025-03-04,10.00\nTotal,10.00\n"
    found = proposal(tmp_path, text, WISHES._replace(kind="bank"))
    assert doubts(found) == []
    assert found.layout.totals is not None
    assert [p.gross for p in read_records("f", text.encode(), found.layout).payments] == [
        10
    ]


def test_what_is_no_date_among_dates_is_named(tmp_path: Path) -> None:
    text = "Date,Amount\n2025-03-04,10.00\nlater,10.00\n"
    with pytest.raises(ImportRefused, match="found 'later' in 'Date'"):
        proposal(tmp_path, text)


HOSTILE = (
    'a"b',
    "a\nb = 1",
    "[columns]",
    "# date = 'x'",
    "a\\u0022\\",
    'x"""y',
    "\u202ereversed\x7f",
    "'''",
)


@pytest.mark.parametrize("header", HOSTILE)
def test_hostile_headings_are_inert(tmp_path: Path, header: str) -> None:
    quoted = '"' + header.replace('"', '""') + '"'
    text = f"Date,{quoted},Amount,Balance\n"
    text += (
        '2025-03-31,"one ""text"" here",-5.00,6.00\n2025-03-31,another text,-2.00,4.00\n'
    )
    plain = proposal(tmp_path, text)
    found = proposal(tmp_path, text, **{"columns__text": header.strip()})
    for each in (plain, found):
        table = tomllib.loads(each.text)
        assert set(table) <= {"kind", "source", "channel", "currency", "columns", "forms"}
        assert table["columns"]["date"] == "Date"
        assert set(table["columns"]) <= {"date", "text", "gross", "balance"}
    assert tomllib.loads(found.text)["columns"]["text"] == header.strip()


def test_large_file_is_read_by_its_beginning(tmp_path: Path) -> None:
    file = tmp_path / "large.csv"
    with file.open("wb") as opened:
        opened.write(
            b"Date,Type,Amount,Fee\n2025-03-31,Sale,5.00,0.10\n" + b"\n" * 3_000_000
        )
        opened.truncate(1 << 30)  # a hole: what is behind the beginning is never read
    found = propose_file(file, WISHES, {})
    assert not found.sample.whole
    assert doubts(found) == []


def test_one_line_without_an_end_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "large.csv"
    file.write_bytes(b"a,b" * (1 << 20))
    with pytest.raises(Exception, match="a table of two columns or more"):
        propose_file(file, WISHES, {})


def test_what_is_taken_off_an_order_and_its_code_are_asked(tmp_path: Path) -> None:
    rows = "S1,2025-03-04,Heron,1,5.00,0.00,\nS2,2025-03-31,Moth,1,9.00,3.00,SPRING\n"
    text = f"Order no,Date,Item,Quantity,Unit price,Order less,Code\n{rows}"
    found = proposal(tmp_path, text, WISHES._replace(kind="order-lines"))
    assert {"columns.Order less", "columns.coupon"} <= set(doubts(found))


def test_entry_names_a_row_and_ref_ties_a_conversion(tmp_path: Path) -> None:
    rows = "2025-03-04,Sale,5.00,,e1\n2025-03-31,Conversion,-2.00,CV1,e2\n"
    rows += "2025-03-31,Conversion,2.00,CV1,e3\n"
    found = proposal(tmp_path, f"Date,Type,Amount,Ref,Entry\n{rows}")
    assert found.layout.columns["id"] == ("Entry",)
    assert found.layout.columns["reference"] == ("Ref",)
    assert "columns.reference" in doubts(found)
