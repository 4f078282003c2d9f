"""The options that say what a manufacturer asks: price breaks, or a file of them."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from offcut.reports.commands.figure_types import AMOUNT, STEP
from offcut.reports.commands.ledger_options import Command

if TYPE_CHECKING:
    from offcut.reports.plan.price_breaks import PriceTable


@dataclass(frozen=True)
class Quote:
    """What a manufacturer asks, as the options have it.

    Attributes:
      steps: From how many pieces on, and what each costs.
      file: A file that says the same.
      setup: What an order costs besides.
      freight: What its carriage costs.
    """

    steps: tuple[tuple[Decimal, Decimal], ...]
    file: Path | None
    setup: Decimal | None
    freight: Decimal | None

    def __bool__(self) -> bool:
        """Tell whether anything was given."""
        return bool(self.steps or self.file or self.setup or self.freight)

    def required(self) -> PriceTable:
        """Return the price table.

        Raises:
          UsageError: There is none, or it is given twice.
          ValueError: It cannot be.
        """
        table = self.given()
        if table is None:
            raise click.UsageError(
                "Say what ordering costs: --break 250=0.42, or --quote FILE."
            )
        return table

    def given(self) -> PriceTable | None:
        """Return the price table; None where there is none. Raises as `required`."""
        from offcut.reports.plan.price_breaks import PriceBreak, PriceTable
        from offcut.reports.plan.quote_file import read_quote

        if self.steps and self.file:
            raise click.UsageError("Give the quote in one way only: --break or --quote.")
        if not (self.steps or self.file):
            return None
        lines = [PriceBreak(*step) for step in sorted(self.steps)]
        if self.file:
            lines = read_quote(self.file)
        if self.setup is not None:
            lines = [line._replace(setup=self.setup) for line in lines]
        if self.freight is not None:
            lines = [line._replace(freight=self.freight) for line in lines]
        return PriceTable(tuple(lines))


def quote_options(command: Command) -> Command:
    """Add the options of a quote, which the command gets as one argument `quote`."""

    @functools.wraps(command)
    def with_quote(
        *args: Any,
        steps: tuple[tuple[Decimal, Decimal], ...],
        quote_file: Path | None,
        setup: Decimal | None,
        freight: Decimal | None,
        **kwargs: Any,
    ) -> None:
        command(*args, quote=Quote(steps, quote_file, setup, freight), **kwargs)

    adding: Command = with_quote
    for decorate in (
        click.option(
            "--freight",
            type=AMOUNT,
            metavar="AMOUNT",
            help="What carriage of an order costs.",
        ),
        click.option(
            "--set-up",
            "setup",
            type=AMOUNT,
            metavar="AMOUNT",
            help="What an order costs besides its pieces.",
        ),
        click.option(
            "--quote",
            "quote_file",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="A CSV file with the columns Quantity and Unit price.",
        ),
        click.option(
            "--break",
            "steps",
            type=STEP,
            multiple=True,
            metavar="PIECES=PRICE",
            help="From so many pieces on each costs so much: 250=0.42. May be given "
            "several times.",
        ),
    ):
        adding = decorate(adding)
    return adding
