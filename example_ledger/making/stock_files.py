"""Write what the workshop made, counted and gave away, and what it bought."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal as D
from itertools import groupby

from making import shop, story
from making.catalogue_file import stock_account
from making.ledger_text import BANK, Entry, Leg, Meta, directive, file_text, transaction
from making.workshop import STICKERS, Count, Purchase, Run, materials_of

FREIGHT, SET_UP = "Expenses:Inbound:Freight", "Expenses:Inbound:SetUp"
SPREAD: Meta = (("spread", "quantity"),)
HOLOGRAPHIC = "^purchase-holographic"

WORKSHOP = """\
Workshop: print runs, counts, and pieces that left without a sale.

A run says how many good pieces it made; the bill of materials (catalogue.beancount)
says what went into them and into the spoiled ones. Several products in one run were
printed on shared sheets. `minutes` are my own time: they are no cost in the books.
"""
PURCHASES = """\
Purchases: sheets, paper, ink, packaging, stamps, and what a manufacturer made.

Each is a lot at its cost. Nothing here is an expense yet: it becomes one when it is
sold, posted, spoiled or given away, and the stock plugin writes that.
"""


def workshop_text(runs: Iterable[Run], counts: Iterable[Count]) -> str:
    """Return workshop.beancount."""
    return file_text(WORKSHOP, [*_runs(runs), *_counts(counts), *_giveaways()])


def purchases_text(entries: Iterable[Entry]) -> str:
    """Return purchases.beancount."""
    return file_text(PURCHASES, entries)


def _runs(runs: Iterable[Run]) -> Iterator[Entry]:
    """Yield print runs; stickers of one day that came out well are one run."""
    ordered = sorted(runs, key=lambda run: (run.date, _shared(run), run.product))
    for (date, shared), group in groupby(ordered, lambda run: (run.date, _shared(run))):
        together = list(group)
        for batch in [together] if shared else [[run] for run in together]:
            parts = [f"{run.good} {run.product}" for run in batch]
            if batch[0].measured:
                used = materials_of(batch[0]).items()
                parts += [f"{units.normalize():f} {code}" for code, units in used]
            spoiled = sum(run.spoiled for run in batch)
            meta: Meta = (("spoiled", spoiled),) if spoiled else ()
            yield directive(
                date,
                f'custom "print-run" {" ".join(parts)}',
                meta=(*meta, ("minutes", sum(run.minutes for run in batch))),
                comment=batch[0].comment,
            )


def _shared(run: Run) -> bool:
    """Return whether a run can be printed on sheets shared with others."""
    return shop.BY_CODE[run.product].form == STICKERS and not run.spoiled


def _counts(counts: Iterable[Count]) -> Iterator[Entry]:
    """Yield what was counted on the shelves."""
    for date, group in groupby(counts, lambda count: count.date):
        comment = "Counted with the door shut. The shelf is right; the books follow it."
        for count in group:
            text = f'custom "stock-count" {count.units:f} {count.code}'
            yield directive(date, text, comment=comment)
            comment = ""


def _giveaways() -> Iterator[Entry]:
    """Yield pieces and materials that left without a sale of theirs."""
    for given in story.GIVEAWAYS:
        text = f'custom "stock-out" {given.pieces} {given.account}'
        yield directive(story.day(given.date), text, comment=given.comment)


def purchases(bought: Iterable[Purchase]) -> Iterator[Entry]:
    """Yield purchases, what one supplier sent on one day in one transaction."""
    ordered = sorted(bought, key=lambda each: (each.date, each.supply.supplier))
    for (date, supplier), group in groupby(
        ordered, lambda each: (each.date, each.supply.supplier)
    ):
        legs, names, total = [], [], D("0.00")
        for _, supply, packs in group:
            cost = packs * supply.price(date)
            units = f"{supply.code} {{{{{cost} USD}}}}"
            legs.append(Leg(stock_account(supply.code), D(packs * supply.pack), units))
            names.append(supply.name.partition(",")[0].lower())
            total += cost
        legs.append(Leg(BANK, -total))
        comment = ""
        if supplier == shop.POST_OFFICE and 0 < (shop.STAMP_RISE - date).days <= 7:
            comment = f"Stamps get dearer on {shop.STAMP_RISE}: a supply at the old price."
        title = ", ".join(names).capitalize()
        yield transaction(date, title, legs, payee=supplier, comment=comment)
    yield from _manufacturer_order()


def _manufacturer_order() -> Iterator[Entry]:
    """Yield the one purchase of finished pieces, and the freight bill that came later."""
    pieces, price = (
        story.MANUFACTURER_PIECES,
        story.MANUFACTURER_PIECES * story.MANUFACTURER_EACH,
    )
    set_up, freight = story.MANUFACTURER_SET_UP, story.MANUFACTURER_FREIGHT
    yield transaction(
        story.MANUFACTURER_ORDER,
        "Holographic stickers, with set-up",
        [
            Leg(stock_account("FOG-HOL"), D(pieces), f"FOG-HOL {{{{{price} USD}}}}"),
            Leg(SET_UP, set_up, meta=SPREAD),
            Leg(BANK, -(price + set_up)),
        ],
        payee="The sticker manufacturer",
        marks=HOLOGRAPHIC,
        comment=(
            "Holographic film will not go through my printer. The set-up is a part of\n"
            "what the pieces cost: it is spread over them."
        ),
    )
    yield transaction(
        story.MANUFACTURER_FREIGHT_BILL,
        "Freight of the holographic stickers",
        [Leg(FREIGHT, freight, meta=SPREAD), Leg(BANK, -freight)],
        payee="The freight office",
        marks=HOLOGRAPHIC,
        comment=(
            "It came after the pieces, and some were sold by then: the link says which\n"
            "lots it belongs to; those here still get dearer, the rest is cost of goods."
        ),
    )
