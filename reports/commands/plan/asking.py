"""What the commands of `offcut plan` have in common: options, and the figures set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import refuse
from offcut.reports.commands.figure_types import AMOUNT

if TYPE_CHECKING:
    from offcut.plugins.catalogue import Item
    from offcut.reports.books import Books
    from offcut.reports.plan.plan_settings import PlanSettings

hour_option = click.option(
    "--hour",
    type=AMOUNT,
    metavar="AMOUNT",
    help="What an hour of yours is worth: 18. Default: as offcut.toml says, or nothing.",
)
products_option = click.option(
    "--product",
    "products",
    multiple=True,
    metavar="NAME",
    help="Only this product; may be given several times.",
)
setup_minutes_option = click.option(
    "--setup-minutes",
    type=AMOUNT,
    metavar="NUMBER",
    help="Your minutes to set up a print run, whatever its size. Default: as offcut.toml "
    "says, or none.",
)


def settings_of(ledger: Path) -> PlanSettings:
    """Return what is set beside a ledger for plans, or stop where it has mistakes."""
    from offcut.reports.plan.plan_settings import PlanSettingsError, plan_settings

    try:
        return plan_settings(ledger)
    except PlanSettingsError as error:
        refuse(str(error))


def products_of(books: Books, words: Iterable[str]) -> frozenset[str]:
    """Return the commodities that words name, or stop where one names none."""
    from offcut.reports.plan.product_named import product_named

    with refusing():
        return frozenset(product_named(word, books.catalogue).currency for word in words)


def product_of(books: Books, word: str) -> Item:
    """Return the product that a word names, or stop where it names none."""
    from offcut.reports.plan.product_named import product_named

    with refusing():
        return product_named(word, books.catalogue)


@contextmanager
def refusing() -> Iterator[None]:
    """Stop with one line on stderr where a plan cannot be made from what was given."""
    from offcut.reports.figures import plain

    try:
        yield
    except ValueError as error:
        refuse(plain(str(error)))
