"""Put months together where they are too many to stand side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from offcut.reports.months import Month


class Span(NamedTuple):
    """Months that are told together.

    Attributes:
      label: How it is written: `2025-03`, `2025 Q1`, `2025`.
      at: The positions of its months.
    """

    label: str
    at: tuple[int, ...]


class Spans(NamedTuple):
    """A period in spans of one length.

    Attributes:
      unit: What each is: "month", "quarter" or "year".
      spans: The spans, the earliest first.
    """

    unit: str
    spans: tuple[Span, ...]


def spans_of(months: Sequence[Month], most: int) -> Spans:
    """Return months in the shortest spans of which there are not too many.

    Args:
      months: Months that follow each other.
      most: How many spans are not too many; of years there may be more.
    """
    by_month = Spans("month", _together(months, [month.label for month in months]))
    if len(by_month.spans) <= most:
        return by_month
    quarters = [
        f"{month.first.year:04} Q{(month.first.month + 2) // 3}" for month in months
    ]
    by_quarter = Spans("quarter", _together(months, quarters))
    if len(by_quarter.spans) <= most:
        return by_quarter
    return Spans("year", years_of(months))


def years_of(months: Sequence[Month]) -> tuple[Span, ...]:
    """Return months by calendar year.

    Args:
      months: Months that follow each other.
    """
    return _together(months, [f"{month.first.year:04}" for month in months])


def _together(months: Sequence[Month], labels: Sequence[str]) -> tuple[Span, ...]:
    at: dict[str, list[int]] = {}
    for index, label in zip(range(len(months)), labels, strict=True):
        at.setdefault(label, []).append(index)
    return tuple(Span(label, tuple(several)) for label, several in at.items())
