"""Worked examples of three textbooks: one item, what came in, what went out, what it cost.

INV-A: Franklin, Graybeal, Cooper, Principles of Accounting, Volume 1: Financial
Accounting, OpenStax, chapter 10 (sections 10.1 to 10.3). The book rounds the second
average sale to whole dollars (4,733, cost of goods 7,253, closing 8,902); the figures
here are its inputs worked to the cent.
INV-B: Hermanson, Edwards, Maher, Accounting Principles: A Business Perspective, chapter 7,
exhibits 49 to 53. First in first out in total (511, 179) is printed; costs by sale and
the moving average are worked from the book's inputs.
INV-C: Wild, Shaw, Fundamental Accounting Principles, chapter 6, and its Quick Study 6-1.
First in first out is printed; the moving averages are worked from the book's inputs.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

D = Decimal


class Move(NamedTuple):
    """Units that came in at a unit cost, or that went out, where there is none."""

    units: Decimal
    unit_cost: Decimal | None = None


class Example(NamedTuple):
    """A textbook's history of one item, and its figures to the cent by method."""

    moves: list[Move]
    available: Decimal
    first_in_first_out: list[Decimal]
    moving_average: list[Decimal]
    closing_units: Decimal
    closing_first_in_first_out: Decimal
    closing_moving_average: Decimal


def bought(units: int, unit_cost: str) -> Move:
    """Return what came in."""
    return Move(D(units), D(unit_cost))


def sold(units: int) -> Move:
    """Return what went out."""
    return Move(D(units))


OPENSTAX = Example(
    [bought(150, "21"), sold(120), bought(225, "27"), sold(180), bought(210, "33")],
    available=D("16155"),
    first_in_first_out=[D("2520"), D("4680")],
    moving_average=[D("2520"), D("4732.94")],
    closing_units=D(285),
    closing_first_in_first_out=D("8955"),
    closing_moving_average=D("8902.06"),
)

HERMANSON = Example(
    [
        bought(10, "8.00"),
        bought(10, "8.50"),
        sold(10),
        bought(20, "8.40"),
        sold(20),
        bought(10, "9.00"),
        sold(10),
        bought(20, "8.80"),
        sold(20),
        bought(10, "9.10"),
    ],
    available=D("690"),
    first_in_first_out=[D("80"), D("169"), D("84"), D("178")],
    moving_average=[D("82.50"), D("167.00"), D("86.75"), D("175.17")],
    closing_units=D(20),
    closing_first_in_first_out=D("179"),
    closing_moving_average=D("178.58"),
)

WILD = Example(
    [
        bought(10, "91"),
        bought(15, "106"),
        sold(20),
        bought(20, "115"),
        bought(10, "119"),
        sold(23),
    ],
    available=D("5990"),
    first_in_first_out=[D("1970"), D("2600")],
    moving_average=[D("2000"), D("2622")],
    closing_units=D(12),
    closing_first_in_first_out=D("1420"),
    closing_moving_average=D("1368"),
)

WILD_QUICK_STUDY = Example(
    [bought(10, "6"), bought(20, "12"), sold(15), bought(15, "14")],
    available=D("510"),
    first_in_first_out=[D("120")],
    moving_average=[D("150")],
    closing_units=D(30),
    closing_first_in_first_out=D("390"),
    closing_moving_average=D("360"),
)

EXAMPLES = {
    "openstax": OPENSTAX,
    "hermanson": HERMANSON,
    "wild": WILD,
    "wild-quick-study": WILD_QUICK_STUDY,
}
