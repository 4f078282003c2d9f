"""A day of a fair: tally, cash and cards meet, whatever was imported before."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.fair.day import FairReport, book_fair
from offcut.importers.fair.papers import FairPapers
from offcut.importers.importing import import_files
from offcut.importers.learning.answers import learn
from offcut.importers.problems import ImportRefused
from offcut.reports.order_table import order_table
from tests.importers.shop import SETTINGS, Shop, new_shop

EVENT = "harbour-fair-2026"
DAY = datetime.date(2026, 6, 14)
TALLY = ("Heron,14,4.00,", "Moth,51,4.00,")
READER = """
[layouts.reader]
kind = "payments"
source = "reader"
channel = "Fair"
currency = "USD"
[layouts.reader.columns]
date = "Day"
type = "What"
gross = "Taken"
fee = "Cost"
tip = "Tip"
id = "Number"
[layouts.reader.types]
sale = ["sold"]
refund = ["back"]
payout = ["to the bank"]
fee = ["rent"]
"""
CARDS = ("2026-06-14,sold,49.00,1.10,4.00,r1", "2026-06-14,sold,50.00,1.20,0.00,r2")
BOOKED = {
    "Assets:Cash": Decimal("162.50"),
    "Assets:Clearing:Reader": Decimal("96.70"),
    "Expenses:Fairs:CashOverShort": Decimal("2.50"),
    "Expenses:Fees:Reader": Decimal("2.30"),
    "Income:Sales:Fair": Decimal("-260.00"),
    "Income:Tips:Fair": Decimal("-4.00"),
}


@pytest.fixture
def fair_shop(tmp_path: Path) -> Shop:
    """A shop that has a card reader."""
    return new_shop(tmp_path / "shop", settings=SETTINGS + READER)


def tally(shop: Shop, *rows: str) -> Path:
    return shop.file("tally.csv", "Sold,Count,Price,Reduced by", *rows)


def reader(shop: Shop, *rows: str) -> Path:
    return shop.file("reader.csv", "Day,What,Taken,Cost,Tip,Number", *rows)


def papers(shop: Shop, **changed: object) -> FairPapers:
    """Return the papers of a day that is 2.50 short."""
    usual: dict[str, object] = {"cash": "212.50", "float": "50.00"}
    if "card" not in changed:
        usual["card"] = reader(shop, *CARDS)
    usual |= changed
    sheet = usual.pop("tally", None) or tally(shop, *TALLY)
    usual.setdefault("day", DAY)
    usual.setdefault("event", EVENT)
    return FairPapers(tally=sheet, **usual)  # type: ignore[arg-type]


def book(shop: Shop, **changed: object) -> FairReport:
    return book_fair(papers(shop, **changed), shop.ledger)


def refusal(shop: Shop, **changed: object) -> str:
    """Book what is refused, check that nothing changed, return the line."""
    given = papers(shop, **changed)
    before = shop.contents()
    with pytest.raises(ImportRefused) as caught:
        book_fair(given, shop.ledger)
    assert shop.contents() == before
    (problem,) = caught.value.problems
    return str(problem)


def test_tally_and_money_meet_and_the_clearing_account_ends_at_zero(
    fair_shop: Shop,
) -> None:
    report = book(fair_shop)

    assert fair_shop.balances() == BOOKED  # no Assets:Clearing:Fair among them
    fair = report.fair
    assert (fair.tally.total, fair.cash, fair.card, fair.tips, fair.over) == tuple(
        map(Decimal, ("260.00", "162.50", "95.00", "4.00", "-2.50"))
    )


def test_all_of_the_day_has_the_tag_and_the_channel(fair_shop: Shop) -> None:
    book(fair_shop)

    transactions = fair_shop.transactions()
    assert len(transactions) == 5
    assert all(each.tags == {f"event-{EVENT}"} for each in transactions)
    assert all(each.meta["channel"] == "Fair" for each in transactions)
    assert all(each.date == DAY for each in transactions)


def test_the_tally_says_what_was_sold(fair_shop: Shop) -> None:
    book(fair_shop)

    (sold,) = [each for each in fair_shop.transactions() if "lines-id" in each.meta]
    assert [
        (each.account, each.units.number, each.meta.get("item"), each.meta.get("quantity"))
        for each in sold.postings
    ] == [
        ("Assets:Clearing:Fair", Decimal("260.00"), None, None),
        ("Income:Sales:Fair", Decimal("-56.00"), "HERON-STK", 14),
        ("Income:Sales:Fair", Decimal("-204.00"), "MOTH-STK", 51),
    ]
    assert sold.meta["source-id"] == f"fair/{EVENT}/{DAY}/tally"


def test_more_money_than_the_tally_says_is_an_income_of_the_same_account(
    fair_shop: Shop,
) -> None:
    book(fair_shop, cash="220")

    assert fair_shop.balances()["Expenses:Fairs:CashOverShort"] == Decimal("-5.00")


def test_money_that_agrees_books_no_difference(fair_shop: Shop) -> None:
    book(fair_shop, cash="215")

    assert "Expenses:Fairs:CashOverShort" not in fair_shop.balances()
    assert len(fair_shop.transactions()) == 4


def test_reductions_are_discounts_of_their_items(fair_shop: Shop) -> None:
    book(fair_shop, tally=tally(fair_shop, "Heron,10,4.00,1.50"), cash="38.50", float=None)

    assert fair_shop.balances()["Income:Discounts:Fair"] == Decimal("1.50")


def test_an_unknown_text_waits_and_is_booked_once_it_is_learned(fair_shop: Shop) -> None:
    report = book(fair_shop, tally=tally(fair_shop, "Heron,14,4.00,", "Owl,51,4.00,"))

    (unknown,) = report.unknown_items
    assert (unknown.text, unknown.amount) == ("Owl", Decimal("204.00"))
    assert fair_shop.balances()["Income:Suspense:Fair"] == Decimal("-204.00")

    learned = learn(fair_shop.ledger, ["Owl=MOTH-STK"])
    assert learned.parked_lines == 1
    assert fair_shop.balances() == BOOKED
    assert all(each.tags == {f"event-{EVENT}"} for each in fair_shop.transactions())
    # What is learned is no other figure.
    again = book(fair_shop, tally=tally(fair_shop, "Heron,14,4.00,", "Owl,51,4.00,"))
    assert again.already_there
    assert again.unknown_items == ()


def test_the_same_figures_again_change_no_byte(fair_shop: Shop) -> None:
    book(fair_shop)
    before = fair_shop.contents()

    assert book(fair_shop).already_there
    assert fair_shop.contents() == before


def test_card_payments_without_ids_are_known_however_they_are_spelled(
    tmp_path: Path,
) -> None:
    settings = SETTINGS + READER.replace('id = "Number"\n', "")
    shop = new_shop(tmp_path / "unnamed", settings=settings)
    book(shop)
    assert shop.balances() == BOOKED
    other = ("2026-06-14,SOLD,49,1.1,4,", "2026-06-14,sold , 50.0,1.200,0,")

    assert book(shop, card=reader(shop, *other)).already_there
    assert shop.balances() == BOOKED


def test_the_same_figures_agree_before_a_text_is_learned_too(fair_shop: Shop) -> None:
    rows = tally(fair_shop, "Owl,65,4.00,")
    book(fair_shop, tally=rows)
    (fair_shop.folder / "offcut.toml").write_text(
        SETTINGS.replace("Moth*", "Owl*") + READER, "utf-8"
    )

    assert book(fair_shop, tally=rows).already_there


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"cash": "210"}, "cash 162.50, not 160.00"),
        ({"cash": None, "float": None}, "cash 162.50, not 0"),
        ({"card": None}, "card 95.00, not 0"),
        ({"tally": ("Heron,14,4.00,",)}, "tally 260.00, not 56.00; 51 MOTH-STK for 204.00"),
        (
            {"tally": ("Heron,13,4.00,", "Moth,52,4.00,")},
            "14 HERON-STK for 56.00, not 13 for 52.00; 51 MOTH-STK for 204.00, not 52",
        ),
    ],
)
def test_other_figures_are_refused(
    fair_shop: Shop, changed: dict[str, object], message: str
) -> None:
    book(fair_shop)
    if rows := changed.get("tally"):
        changed = {**changed, "tally": tally(fair_shop, *rows)}  # type: ignore[misc]

    line = refusal(fair_shop, **changed)
    assert line.startswith(f"{EVENT} {DAY}: the ledger has this day with other figures: ")
    assert message in line
    assert "correct the ledger by hand" in line


def test_figures_corrected_by_hand_are_taken_for_the_day(fair_shop: Shop) -> None:
    book(fair_shop)
    path = fair_shop.folder / "imports" / "fair-2026-06.beancount"
    text = path.read_text("utf-8")
    for before, now in (("162.50", "163.00"), (" 2.50", " 2.00"), ("-2.50", "-2.00")):
        assert before in text
        text = text.replace(before, now)
    path.write_text(text.replace("\n", "\r\n"), "utf-8", newline="")
    before = fair_shop.contents()

    assert "cash 163.00, not 162.50" in refusal(fair_shop)
    assert book(fair_shop, cash="213").already_there
    assert fair_shop.contents() == before


def test_each_day_of_a_fair_is_booked_by_itself(fair_shop: Shop) -> None:
    book(fair_shop)
    sunday = DAY + datetime.timedelta(days=1)
    report = book(fair_shop, day=sunday, card=None, cash="260", float=None)

    assert not report.already_there
    assert fair_shop.balances()["Income:Sales:Fair"] == Decimal("-520.00")
    assert "Assets:Clearing:Fair" not in fair_shop.balances()


def test_a_month_of_card_payments_gives_those_of_the_day(fair_shop: Shop) -> None:
    other = "2026-06-13,sold,7.00,0.10,0.00,r0"
    report = book(fair_shop, card=reader(fair_shop, other, *CARDS))

    assert fair_shop.balances() == BOOKED
    assert "reader.csv: rows of other days: 1" in report.notes


def test_a_refund_at_the_table_takes_from_what_the_cards_paid(fair_shop: Shop) -> None:
    back = "2026-06-14,back,-5.00,-0.10,0.00,r3"
    report = book(fair_shop, card=reader(fair_shop, *CARDS, back))

    assert report.fair.card == Decimal("90.00")
    assert fair_shop.balances()["Expenses:Fairs:CashOverShort"] == Decimal("7.50")
    assert "Assets:Clearing:Fair" not in fair_shop.balances()


def test_what_is_no_sale_is_left_to_the_import(fair_shop: Shop) -> None:
    rows = ("2026-06-14,to the bank,-90.00,0,0,p1", "2026-06-14,rent,-3.00,0,0,f1")
    card = reader(fair_shop, *CARDS, *rows)
    report = book(fair_shop, card=card)
    assert "reader.csv: left to `offcut import`: 1 fee, 1 payout" in report.notes
    assert fair_shop.balances() == BOOKED

    fair_shop.run(card)
    assert fair_shop.balances() == BOOKED | {
        "Assets:Clearing:Payouts": Decimal("90.00"),
        "Assets:Clearing:Reader": Decimal("3.70"),
        "Expenses:Fees:Reader": Decimal("5.30"),
    }


def test_the_import_after_the_fair_books_no_payment_again(fair_shop: Shop) -> None:
    book(fair_shop)
    before = fair_shop.contents()
    report = fair_shop.run(fair_shop.folder / "reader.csv")

    assert report.written == ()
    assert fair_shop.contents() == before


def test_the_fair_after_the_import_takes_its_payments_over(fair_shop: Shop) -> None:
    fair_shop.run(reader(fair_shop, *CARDS))
    assert fair_shop.balances()["Income:Sales:Fair"] == Decimal("-95.00")
    report = book(fair_shop)

    assert fair_shop.balances() == BOOKED
    assert any(note.startswith("card payments that were imp") for note in report.notes)
    before = fair_shop.contents()
    assert book(fair_shop).already_there
    fair_shop.run(fair_shop.folder / "reader.csv")
    assert fair_shop.contents() == before


def test_a_payment_that_somebody_booked_otherwise_is_not_counted(fair_shop: Shop) -> None:
    fair_shop.run(reader(fair_shop, *CARDS))
    path = fair_shop.folder / "imports" / "reader-2026-06.beancount"
    text = path.read_text("utf-8").replace("Income:Sales:Fair", "Income:Workshops", 1)
    path.write_text(text, "utf-8")
    with fair_shop.ledger.open("a") as ledger:
        ledger.write("2025-01-01 open Income:Workshops\n")
    report = book(fair_shop)

    assert report.fair.card == Decimal("50.00")
    assert (
        "the card payment reader/r1 is booked as something else in the ledger, and is "
        "not counted" in report.notes
    )
    assert "Assets:Clearing:Fair" not in fair_shop.balances()
    assert book(fair_shop).already_there


def test_a_broken_off_booking_is_completed(fair_shop: Shop) -> None:
    book(fair_shop)
    whole = fair_shop.balances()
    # Files are put in place one by one; whichever was the last, the rest follows.
    for name in ("fair-2026-06.beancount", "reader-2026-06.beancount"):
        (fair_shop.folder / "imports" / name).unlink()
        report = book(fair_shop)
        assert [each.path.name for each in report.written] == [name]
        assert fair_shop.balances() == whole


def test_cards_alone(fair_shop: Shop) -> None:
    report = book(
        fair_shop, tally=tally(fair_shop, "Heron,24,4.00,"), cash=None, float=None
    )

    assert report.fair.over == Decimal("-1.00")
    assert "no cash was given (--cash): none is counted" in report.notes
    assert "Assets:Cash" not in fair_shop.balances()


def test_accounts_of_the_users_own(fair_shop: Shop) -> None:
    own = '[fair]\ncash = "Assets:Box"\ncash-over-short = "Expenses:Odd"\n'
    (fair_shop.folder / "offcut.toml").write_text(SETTINGS + own + READER, "utf-8")
    book(fair_shop)

    balances = fair_shop.balances()
    assert balances["Assets:Box"] == Decimal("162.50")
    assert balances["Expenses:Odd"] == Decimal("2.50")
    assert book(fair_shop).already_there


def test_the_currency_of_the_ledger_is_the_tallys(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "eur", ledger='option "operating_currency" "EUR"\n')
    (shop.folder / "offcut.toml").write_text("", "utf-8")
    report = book(shop, card=None)

    assert report.fair.tally.currency == "EUR"
    assert {p.units.currency for t in shop.transactions() for p in t.postings} == {"EUR"}


def test_a_dry_run_writes_nothing(fair_shop: Shop) -> None:
    given = papers(fair_shop)
    before = fair_shop.contents()
    report = book_fair(given, fair_shop.ledger, dry_run=True)

    assert fair_shop.contents() == before
    assert sum(each.transactions for each in report.written) == 5


def test_an_event_that_nothing_else_has_is_said(fair_shop: Shop) -> None:
    with fair_shop.ledger.open("a") as ledger:
        ledger.write(
            '2026-05-01 * "Table" #event-harbour-fair-2026\n  Assets:Cash  0 USD\n'
        )
    assert not any("tag" in note for note in book(fair_shop).notes)
    report = book(fair_shop, event="harbor-fair-2026", card=None)

    assert (
        "nothing else in the ledger has the tag #event-harbor-fair-2026 (did you mean "
        "harbour-fair-2026?)" in report.notes
    )


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"cash": "-1"}, "--cash: expected zero or more, found -1"),
        ({"float": "-1"}, "--float: expected zero or more, found -1"),
        ({"float": "300"}, "--float: expected not more than the cash that was counted"),
        ({"cash": "lots"}, "--cash: expected a number such as 1,234.50, found 'lots'"),
        ({"cash": "1.234"}, "--cash: expected an amount in whole units of 0.01 USD"),
        ({"cash": None}, "--float: expected the cash that was counted too"),
        ({"cash": None, "float": None, "card": None}, "--cash: expected the money"),
        ({"event": "harbour fair"}, "--event: expected a name of letters, digits and"),
        ({"event": "fair\n"}, "--event: expected a name of letters"),
        ({"event": ""}, "--event: expected a name of letters"),
        ({"day": None}, "tally.csv: expected the day of the fair, found none"),
        ({"day": datetime.date(2026, 6, 1)}, "reader.csv: expected payments of 2026-06-01"),
        ({"currency": "GBP"}, "reader.csv: row 2: expected GBP as in the tally, found USD"),
    ],
)
def test_bad_input_is_refused(
    fair_shop: Shop, changed: dict[str, object], message: str
) -> None:
    assert message in refusal(fair_shop, **changed)


def test_a_tally_is_no_file_to_import(fair_shop: Shop) -> None:
    lines = fair_shop.refused(tally(fair_shop, *TALLY))

    assert lines == [
        "tally.csv: this is the tally sheet of a fair; book it by `offcut fair`, nothing "
        "was imported"
    ]


def test_hostile_text_is_inert(fair_shop: Shop) -> None:
    text = '"He said ""hi""\n2026-01-01 open Assets:Evil ^link #tag",1,4.00,'
    book(fair_shop, tally=tally(fair_shop, *TALLY, text))

    (sold,) = [each for each in fair_shop.transactions() if "lines-id" in each.meta]
    assert sold.postings[-1].meta["item-text"] == (
        'He said "hi" 2026-01-01 open Assets:Evil ^link #tag'
    )


CENTS = st.integers(0, 30000).map(lambda cents: Decimal(cents) / 100)
SALES = st.lists(
    st.tuples(st.sampled_from(["Heron", "Moth", "Owl"]), st.integers(1, 40), CENTS),
    min_size=1,
    max_size=6,
).filter(lambda rows: any(price for _, _, price in rows))
PAID = st.lists(st.tuples(st.sampled_from(["sold", "back"]), CENTS, CENTS), max_size=5)


@given(
    sales=SALES, paid=PAID, cash=CENTS, steps=st.permutations(["fair", "import", "learn"])
)
def test_any_order_of_fair_import_and_learning_ends_in_the_same_books(
    tmp_path_factory: pytest.TempPathFactory,
    sales: list[tuple[str, int, Decimal]],
    paid: list[tuple[str, Decimal, Decimal]],
    cash: Decimal,
    steps: list[str],
) -> None:
    """The clearing account is at zero, and repeating all of it changes no byte."""
    shop = new_shop(tmp_path_factory.mktemp("fair"), settings=SETTINGS + READER)
    sheet = tally(shop, *(f"{text},{count},{price}," for text, count, price in sales))
    rows = [
        f"2026-06-14,{what},{gross if what == 'sold' else -gross},{fee},0,n{at}"
        for at, (what, gross, fee) in enumerate(paid)
    ]
    card = reader(shop, *rows) if rows else None
    total = sum((count * price for _, count, price in sales), Decimal(0))
    signed = [gross if what == "sold" else -gross for what, gross, _ in paid]
    expected = {
        "Assets:Cash": cash,
        "Assets:Clearing:Reader": sum(signed) - sum(fee for _, _, fee in paid),
        "Expenses:Fees:Reader": sum((fee for _, _, fee in paid), Decimal(0)),
        "Expenses:Fairs:CashOverShort": total - cash - sum(signed),
        "Income:Sales:Fair": -total,
    }

    def take_steps() -> None:
        for step in steps:
            if step == "fair":
                book(shop, tally=sheet, card=card, cash=str(cash), float=None)
            elif step == "learn":
                learn(shop.ledger, ["Owl=MOTH-STK"])
            elif card:
                import_files([card], shop.ledger)

    take_steps()
    assert shop.balances() == {key: value for key, value in expected.items() if value}
    before = shop.contents()
    take_steps()
    assert shop.contents() == before


def test_payments_imported_before_the_fair_are_its_channels_and_so_are_their_tips(
    tmp_path: Path,
) -> None:
    web = READER.replace('channel = "Fair"', 'channel = "Web"') + 'tip = ["tip"]\n'
    shop = new_shop(tmp_path / "shop", settings=SETTINGS + web)
    rows = ("2026-06-14,sold,12.00,0.30,0,r1", "2026-06-14,tip,2.00,0,0,r2")
    card = reader(shop, *rows)
    shop.run(card)
    assert shop.balances()["Income:Tips:Web"] == Decimal("-2.00")
    sheet = tally(shop, *TALLY[:1])
    report = book(shop, tally=sheet, card=card, cash=None, float=None)

    assert report.fair.tips == Decimal("2.00")
    assert shop.balances()["Income:Tips:Fair"] == Decimal("-2.00")
    assert "Income:Tips:Web" not in shop.balances()
    entries, errors, options = loader.load_file(str(shop.ledger))
    assert errors == []
    table = order_table(entries, options)
    by_channel = table.groupby("channel")["sales"].sum()
    assert by_channel.get("Web", Decimal(0)) == 0
    assert by_channel["Fair"] == report.fair.tally.total
    before = shop.contents()
    assert book(shop, tally=sheet, card=card, cash=None, float=None).already_there
    assert shop.contents() == before
