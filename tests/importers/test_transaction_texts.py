"""Transactions are read from a ledger's text as beancount reads them."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from beancount import loader
from beancount.core import data

from offcut.importers.transaction_texts import find_transactions, read_transaction

OPENS = "".join(
    f"1970-01-01 open {account}\n" for account in ("Assets:A", "Assets:B", "Assets:C")
)
TEXTS = [
    '2025-03-04 * "Payee" "What"  #tag ^a ^b-1/2 ; ^no\n  Assets:A  1.00 USD\n  Assets:B\n',
    '2025/3/4 txn "Only \\"what\\" \\\\"\n\tnote: "some \\"text\\""\n  count: 3\n'
    '  Assets:A  -1,234.50 USD ; said\n    note: "at the posting"\n  ! Assets:B\n',
    "2025-03-04 !\n  ^c\n  Assets:A  +1. USD\n  ; a remark\n  Assets:B  -1 USD\n",
    '2025-03-04 * "x"\n  Assets:A  2 HERON {1.00 USD}\n  Assets:B  -2.00 USD\n',
    '2025-03-04 * "x"\n  Assets:A  2.00 EUR @ 1.10 USD\n  Assets:B  -2.20 USD\n',
    '2025-03-04 * "x"\n  Assets:A  (1 + 2) USD\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  1 USD\n  Assets:C  2 EUR\n  Assets:B  -1 USD\n'
    "  Assets:B -2 EUR\n",
    # What is left blank: one posting for each currency, none for what balances already.
    '2025-03-04 * "x"\n  Assets:A  1 USD\n  Assets:B\n    note: "n"\n  Assets:C  2 EUR\n',
    '2025-03-04 * "x"\n  Assets:A  1 USD\n  Assets:C  -1 USD\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  1 USD\n  Assets:C  2 EUR\n  Assets:C  -2 EUR\n'
    "  Assets:B\n",
    '2025-03-04 * "x"\n  Assets:A  2 HERON {1.00 USD}\n  Assets:C  3 EUR\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  3 HERON {{10.00 USD}}\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  2.00 EUR @@ 2.21 USD ; dear\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  2.00 EUR @ 1.105 USD\n  Assets:C  1 GBP\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  1.00 USD\n  Assets:C  2.0051 USD\n  Assets:B\n',
    '2025-03-04 * "x"\n  Assets:A  1.00 USD\n  Assets:B  USD\n',
    '2025-03-04 * "x"\n  Assets:A  7.00 / 2 USD\n  Assets:B  -3.50 USD\n',
]


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("text", TEXTS)
def test_as_beancount_reads_it(text: str, line_end: str) -> None:
    entries, errors, _ = loader.load_string(OPENS + text)
    assert not errors
    (entry,) = data.filter_txns(entries)
    written = (OPENS + text + "2025-03-05 close Assets:C\n").replace("\n", line_end)

    (found,) = find_transactions(written.encode(), re.compile(rb"\n[ \t]+[!]?[ ]*Assets:A"))
    read = read_transaction(found)

    assert read is not None
    assert (read.date, read.payee, read.narration) == (
        entry.date,
        entry.payee or "",
        entry.narration or "",
    )
    assert read.links == entry.links
    assert read.meta == _written(entry.meta)
    # Booking sorts postings by currency.
    there = sorted(entry.postings, key=lambda each: (each.account, each.units.currency))
    ours = sorted(read.postings, key=lambda each: (each.account, each.currency))
    assert [each.account for each in ours] == [posting.account for posting in there]
    for each, posting in zip(ours, there, strict=True):
        assert (each.number, each.currency) == tuple(posting.units)
        assert each.meta == _written(posting.meta)


def _written(meta: data.Meta | None) -> dict[str, str]:
    """Return the metadata that a text has, as text."""
    added = ("filename", "lineno", "__automatic__", "__tolerances__")
    return {key: str(value) for key, value in (meta or {}).items() if key not in added}


def test_amount_that_only_the_whole_ledger_says_is_none() -> None:
    text = (
        '2025-03-04 * "x"\n  Assets:A  -2 HERON {}\n  Assets:C  1 USD @ 1 EUR\n  Assets:B\n'
    )
    read = read_transaction(text)

    assert read is not None
    assert [each.number for each in read.postings] == [Decimal(-2), Decimal(1), None]
    assert read.sums(["Assets:B"]) == {}


def test_cost_and_price_are_told_apart_from_a_plain_amount() -> None:
    read = read_transaction(
        '2025-03-04 * "x"\n  Assets:A  2 HERON {1.00 USD}\n  Assets:B  -2 EUR @ 1 USD\n'
        "  Assets:C  (1 - 1) USD\n  Assets:C  0 USD\n"
    )

    assert read is not None
    assert [each.is_plain for each in read.postings] == [False, False, False, True]


def test_sums_are_by_currency() -> None:
    read = read_transaction(TEXTS[6])

    assert read is not None
    assert read.sums(["Assets:A", "Assets:B", "Assets:C"]) == {
        "USD": Decimal(0),
        "EUR": Decimal(0),
    }


def test_each_transaction_once_and_nothing_else() -> None:
    text = b"""\
2025-01-01 open Assets:A
; 2025-01-01 * "a remark" ^payout-1
2025-01-02 * "one" ^payout-1 ^payout-2
  Assets:A  1 USD
  note: "^payout-3"

2025-01-03 note Assets:A "of ^payout-1"
2025-01-04 * "two" ^payout-1"""

    found = list(find_transactions(text, re.compile(rb"\^payout-")))

    assert [each.splitlines()[0][:16] for each in found] == [
        '2025-01-02 * "on',
        "2025-01-03 note ",
        '2025-01-04 * "tw',
    ]
    assert [read_transaction(each) is None for each in found] == [False, True, False]


def test_no_date_is_no_transaction() -> None:
    assert read_transaction('2025-13-04 * "x"') is None
