"""The figures of plans as a maker writes them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.plan.given_figures import (
    Change,
    amount_of,
    change_of,
    named,
    share_of,
    whole_of,
)

D = Decimal


def test_amounts_are_decimals_as_written() -> None:
    assert amount_of("4.50") == D("4.50")
    assert str(amount_of(" 0.10 ")) == "0.10"
    assert amount_of("12,000") == 12000
    assert amount_of("1,234,567.5") == D("1234567.5")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "-1",
        "+1",
        "1,20",
        "12,00",
        "4.",
        ".5",
        "1e3",
        "NaN",
        "Infinity",
        "٤",
        "4 50",
        "1" * 13,
    ],
)
def test_what_is_no_amount(text: str) -> None:
    with pytest.raises(ValueError, match=r"expected a number such as 4\.50, found "):
        amount_of(text)


def test_whole_numbers() -> None:
    assert whole_of("250") == 250
    for text in ("0", "2.5", "x"):
        with pytest.raises(ValueError, match="expected a whole number such as 250"):
            whole_of(text)


def test_shares() -> None:
    assert share_of("50%") == share_of("0.5") == D("0.5")
    assert share_of("0.5 %") == D("0.005")
    assert share_of("100%") == share_of("1") == 1
    for text in ("0%", "101%", "50", "-5%", "%", "5%%"):
        with pytest.raises(ValueError, match="expected a share such as 50%"):
            share_of(text)


def test_changes() -> None:
    assert change_of("+10%") == Change(D("0.1"), is_share=True, is_by=True)
    assert change_of("-0.5%") == Change(D("-0.005"), is_share=True, is_by=True)
    assert change_of("+0.20") == Change(D("0.20"), is_share=False, is_by=True)
    assert change_of("-0.20") == Change(D("-0.20"), is_share=False, is_by=True)
    assert change_of("4.50") == Change(D("4.50"), is_share=False, is_by=False)
    # 10% alone may be what it becomes or by how much it changes.
    for text in ("10%", "", "+", "+-1", "+%", "++1"):
        with pytest.raises(ValueError, match="expected a change such as"):
            change_of(text)


def test_names() -> None:
    assert named("VINYL=0.60", "X=1") == ("VINYL", "0.60")
    assert named(" a=b = 1 ", "X=1") == ("a=b", "1")
    for text in ("0.60", "=0.60", " =1"):
        with pytest.raises(ValueError, match="a name and a figure such as X=1, found"):
            named(text, "X=1")


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_in_one_inert_line(text: str) -> None:
    readers: list[Callable[[str], object]] = [amount_of, whole_of, share_of, change_of]
    for read in readers:
        try:
            read(text)
        except ValueError as error:
            assert str(error).isprintable()
            assert "expected" in str(error)


@given(st.decimals(0, 10**9, places=4, allow_nan=False))
def test_every_decimal_reads_back(number: Decimal) -> None:
    assert amount_of(f"{number:f}") == number
    assert amount_of(f"{number:,f}") == number
    assert change_of(f"-{number:f}").number == -number
