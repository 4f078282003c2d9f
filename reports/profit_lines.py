"""Make the lines of a profit report: of designs, products, channels and events."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, NamedTuple

from offcut.reports.profit_figures import Figures, together

Grouping = Literal["design", "product", "channel", "event", "order"]

# Order lines are of a product or of an account; their channel may not be known.
NO_CHANNEL = "Orders of no known channel"


class Group(NamedTuple):
    """What the order table is summed up by, once for all groupings but orders."""

    design: str
    product: str
    channel: str
    event: str
    account: str


class ProfitLine(NamedTuple):
    """A line of a report, with the products of a design below it.

    Attributes:
      name: The name to show.
      figures: Its figures, those of its parts included.
      parts: Lines of the products of a design; empty where there is one product only.
      code: The commodity of a product; of a design, where it is its only product; the
        link of an order.
      date: The first day of an order in the period.
      channel: The channel of an order.
    """

    name: str
    figures: Figures
    parts: tuple[ProfitLine, ...] = ()
    code: str = ""
    date: datetime.date | None = None
    channel: str = ""


def grouped_lines(
    groups: Mapping[Group, Figures], grouping: Grouping, names: Mapping[str, str]
) -> tuple[tuple[ProfitLine, ...], tuple[ProfitLine, ...]]:
    """Return the lines of a grouping, and what belongs to none.

    Args:
      groups: What the order table comes to.
      grouping: What the lines are; any but orders.
      names: Names of products to show, by commodity.
    """
    lines: dict[str, dict[str, list[Figures]]] = {}
    loose: dict[str, list[Figures]] = {}
    for group, figures in groups.items():
        name = getattr(group, grouping)
        if name:
            # A channel and an event have no parts, a product is its own.
            part = group.product if grouping in ("design", "product") else ""
            lines.setdefault(name, {}).setdefault(part, []).append(figures)
        else:
            loose.setdefault(_loose_name(group, grouping), []).append(figures)
    return (
        _sorted(
            _line(
                name if grouping != "product" else names.get(name, name),
                [
                    ProfitLine(names.get(code, code or name), together(several), code=code)
                    for code, several in parts.items()
                ],
            )
            for name, parts in lines.items()
        ),
        loose_lines(loose),
    )


def _loose_name(group: Group, grouping: Grouping) -> str:
    """Return the account of what belongs to no line; of sales, where they were made."""
    if group.account:
        return group.account
    if grouping == "channel" or not group.channel:
        return NO_CHANNEL
    return f"{group.channel}, of no {grouping}"


def loose_lines(loose: Mapping[str, Sequence[Figures]]) -> tuple[ProfitLine, ...]:
    """Return what belongs to no line, but for what comes to nothing.

    Args:
      loose: Figures by the name of what they belong to.
    """
    lines = (ProfitLine(name, together(several)) for name, several in loose.items())
    return _sorted(line for line in lines if line.figures != Figures())


def _line(name: str, parts: list[ProfitLine]) -> ProfitLine:
    """Return the line of a design over its products, or of something without parts."""
    if len(parts) == 1:
        return ProfitLine(name, parts[0].figures, code=parts[0].code)
    return ProfitLine(name, together(part.figures for part in parts), _sorted(parts))


def _sorted(lines: Iterable[ProfitLine]) -> tuple[ProfitLine, ...]:
    """Return lines by contribution, the largest first, then by name."""
    return tuple(sorted(lines, key=lambda line: (-line.figures.contribution, line.name)))
