"""Learn what item texts mean: write the answers down, and book what waited for them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import NamedTuple

from beancount.parser import parser

from offcut.importers.items import UNKNOWN, item_matcher
from offcut.importers.known import Known, list_prices, scan_ledger
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.layout_choice import candidates
from offcut.importers.learning.item_rules import (
    check_added,
    read_rule,
    rules_text,
    rules_to_add,
)
from offcut.importers.learning.parked_line import ParkedLine
from offcut.importers.learning.parked_lines import (
    UnknownText,
    parked_lines,
    unknown_texts,
    without_amount,
)
from offcut.importers.learning.parked_moves import move_known, strange_notes
from offcut.importers.month_files import additions
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.settings import FILE, ItemRule, Settings, load_settings
from offcut.importers.writing import Written, add_texts, line_end_of, locked
from offcut.plugins.catalogue import Item, read_catalogue

_COMMODITY = re.compile(
    rb"\n(\d{4}[-/]\d\d?[-/]\d\d?[ \t]+commodity[ \t][^\n]*(?:\r?\n[ \t]+\S[^\n]*)*)"
)
LIKE_ENOUGH = 0.4


class Unknown(NamedTuple):
    """What item texts are waiting for an answer, and what they might mean.

    Attributes:
      texts: The texts, the largest amounts first.
      products: The products of the ledger.
      commodities: All that the ledger declares.
    """

    texts: Sequence[UnknownText]
    products: Mapping[str, Item]
    commodities: frozenset[str]


class Learned(NamedTuple):
    """What was learned.

    Attributes:
      rules: The rules that are new in the settings.
      parked_lines: How many lines were booked.
      written: The files that were written, or would be.
      unknown: The item texts that are still not known.
      notes: What to look at, a sentence each.
    """

    rules: tuple[ItemRule, ...]
    parked_lines: int
    written: tuple[Written, ...]
    unknown: Sequence[UnknownText]
    notes: tuple[str, ...]


def find_unknown(ledger: Path, layout_names: Sequence[str] = ()) -> Unknown:
    """Return the item texts of a ledger that no rule knows.

    Args:
      ledger: The path of the main ledger file.
      layout_names: Layouts that are not among the settings' and the shipped ones.

    Raises:
      ImportRefused: The ledger or its settings cannot be read.
    """
    settings = load_settings(ledger)
    known = scan_ledger(ledger)
    match = item_matcher(settings.items, known.commodities)
    parked = parked_lines(known, _layouts(layout_names, settings))
    return Unknown(unknown_texts(parked, match), _products(known), known.commodities)


def learn(
    ledger: Path,
    answers: Iterable[str | ItemRule],
    layout_names: Sequence[str] = (),
    dry_run: bool = False,
) -> Learned:
    """Add rules to the settings of a ledger, and book the parked lines that they know.

    Args:
      ledger: The path of the main ledger file.
      answers: The rules, or texts such as `Owl sticker*=OWL-STK`.
      layout_names: Layouts that are not among the settings' and the shipped ones.
      dry_run: Whether to find out and report only.

    Raises:
      ImportRefused: Something has to be put right first; nothing was written.
    """
    with nullcontext() if dry_run else locked(ledger):
        settings = load_settings(ledger)
        known = scan_ledger(ledger)
        layouts = _layouts(layout_names, settings)
        rules = rules_to_add(
            [
                read_rule(each, known.commodities) if isinstance(each, str) else each
                for each in answers
            ],
            settings.items,
        )
        path = (ledger.parent / FILE).resolve()
        check_added(path, rules)
        match = item_matcher(
            (*settings.items, *rules), known.commodities, list_prices(known)
        )
        _check_amounts(known, rules)
        parked = parked_lines(known, layouts)
        moved = move_known(known, layouts, match, settings.packing)
        main = ledger.resolve()
        adding = additions(moved.bookings, moved.accounts, main, known)
        # The rules first: if this is broken off, the next import books by them.
        texts = {path: rules_text(rules)} if rules else {}
        texts |= {path: addition.text for path, addition in adding.items()}
        if texts and not dry_run:
            add_texts(texts, line_end_of(known.files[main]))
    written = [Written(path, each.transactions) for path, each in adding.items()]
    return Learned(
        rules,
        len(moved.bookings),
        tuple([Written(path, 0)] * bool(rules) + written),
        unknown_texts(parked, match),
        (*_idle_rules(rules, parked), *strange_notes(moved.strange)),
    )


def likely_products(text: str, products: Mapping[str, Item], most: int = 3) -> list[Item]:
    """Return the products whose names are most like an item text, the likest first."""
    likeness = {
        product: max(
            _likeness(text, name) for name in (item.name, product, item.design) if name
        )
        for product, item in products.items()
    }
    likely = sorted(likeness, key=lambda product: (-likeness[product], product))
    return [products[each] for each in likely[:most] if likeness[each] >= LIKE_ENOUGH]


def _likeness(text: str, name: str) -> float:
    """Return how like two texts are, 0 to 1; the order of their words does not count."""
    one, other = (
        " ".join(sorted(re.findall(r"\w+", each.casefold()))) for each in (text, name)
    )
    return difflib.SequenceMatcher(None, one, other, autojunk=False).ratio()


def _products(known: Known) -> dict[str, Item]:
    """Return the products that a ledger declares, from the text of the directives."""
    texts = [
        text
        for contents in known.files.values()
        for text in _COMMODITY.findall(b"\n" + contents)
    ]
    entries, _, _ = parser.parse_string(b"\n".join(texts).decode("utf-8", "replace"))
    catalogue = read_catalogue(entries)
    return {name: item for name, item in catalogue.items() if item.kind == "product"}


def _layouts(names: Sequence[str], settings: Settings) -> list[Layout]:
    """Return the layouts that there are, those that were chosen first."""
    groups = candidates(names, settings.layouts)
    groups += [settings.layouts, shipped_layouts()] if names else []
    return [layout for group in groups for layout in group.values()]


def _check_amounts(known: Known, rules: Iterable[ItemRule]) -> None:
    """Check that the lines of rules have amounts.

    Raises:
      ImportRefused: Of one it is left blank, and cannot be filled in.
    """
    named = item_matcher([ItemRule(rule.text, "", "Income:Any") for rule in rules], ())
    problems = [
        Problem(
            "the ledger",
            None,
            None,
            f"expected the amount of the line {quoted(text)} of {quoted(first)}, which is "
            "left blank there and cannot be filled in; write it into the ledger, then "
            "answer again",
        )
        for first, text in without_amount(known, lambda text: named(text) != UNKNOWN)
    ]
    if problems:
        raise ImportRefused(problems)


def _idle_rules(rules: Iterable[ItemRule], parked: Iterable[ParkedLine]) -> Iterator[str]:
    """Yield a sentence for each rule that fits no parked line."""
    texts = {each.line.item for each in parked}
    for rule in rules:
        match = item_matcher([ItemRule(rule.text, "", "Income:Any")], ())
        if all(match(text) == UNKNOWN for text in texts):
            yield f"the rule for {quoted(rule.text)} fits no line that is parked"
