"""What is proposed for an unknown file reads what is in it, or says its doubt."""

from __future__ import annotations

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


def test_marks_of_numbers_that_read_in_two_ways_are_asked(tmp_path: Path) -> None:
    text = "Order;Date;Item;Quantity;Unit price\nW1;2025-03-31;Card;2;1.250\n"
    found = proposal(tmp_path, text)
    assert "forms.locale" in doubts(found)
    answered = proposal(tmp_path, text, forms__locale="de_DE")
    assert doubts(answered) == []


def test_refunds_written_as_positive_are_a_doubt(tmp_path: Path) -> None:
    rows = "2025-03-31,Sale,5.00,0.10\n2025-03-31,Refund,2.00,0.00\n"
    found = proposal(tmp_path, f"Date,Type,Amount,Fee\n{rows}")
    assert doubts(found) == ["types.Refund"]


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
