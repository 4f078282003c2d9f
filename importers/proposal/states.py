"""Tell by a column of states which rows are not to be booked, and which are cancelled."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection

from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.plain_words import plain_words

WORDS_AT_MOST = 40
_DONE = frozenset(
    {
        *("completed", "complete", "paid", "settled", "booked", "done", "succeeded", "ok"),
        *("success", "successful", "posted", "bezahlt", "gebucht", "abgeschlossen"),
        *("erledigt", "paye", "termine", "regle", "pagado", "completado", "pagato"),
        *("completato", "betaald", "voltooid", "pago", "concluido", "betald", "slutford"),
        "zaplacone",
    }
)
_STATES = ("status", "state", "zustand", "etat", "estado", "stato", "statut", "staat")
# Plain words, as dictionaries have them, from memory.
_CANCELLED = frozenset(
    {
        *("cancelled", "canceled", "void", "voided", "storniert", "storno", "annulliert"),
        *("annule", "annulee", "cancelado", "cancelada", "anulado", "anulada"),
        *("annullato", "annullata", "cancellato", "geannuleerd", "makulerad", "annullerad"),
        *("annulleret", "kansellert", "annullert", "anulowane", "anulowano", "peruttu"),
        *("peruutettu", "zruseno", "zrusena", "stornovano"),
    }
)


def is_state(column: Column) -> bool:
    """Return whether a column says how far each row has come."""
    return any(word in _STATES for word in column.words.split())


def take_state(draft: Draft) -> None:
    """Leave out rows that are not done, where a column says so; ask about its words.

    A word of orders that says that they are cancelled is one of the layout's.
    """
    of_orders = draft.table["kind"] == "order-lines"
    for column in draft.left:
        if not is_state(column) or column.is_number or len(column.values) > WORDS_AT_MOST:
            continue
        rules, cancelled = [], []
        marks = of_orders and "status" not in draft.table["columns"]
        for value in column.values:
            answer = "book"
            if marks and plain_words(value) in _CANCELLED:
                answer = "cancelled"
            elif plain_words(value) not in _DONE:
                answer = _ask(draft, column, value, marks)
            if answer == "cancelled":
                cancelled.append(value)
            elif answer == "leave-out":
                rules.append({"column": column.header, "equals": value, "reason": value})
        if cancelled and not _has_each_order_once(draft, column, cancelled, rules):
            # A status of each line cannot be read, and the orders as they are left can.
            rules += [
                {"column": column.header, "equals": value, "reason": value}
                for value in cancelled
            ]
            cancelled = []
        draft.roles[column.at] = ("leave-out" if rules else "", "it says what is done")
        if cancelled:
            draft.take("status", column, "it says what is cancelled")
            draft.put("orders.cancelled", cancelled, "words that say it")
        if rules:
            before = draft.table.get("leave-out", [])
            why = "rows that are not done, and lines of totals"
            draft.put("leave-out", [*before, *rules], why)


def _ask(draft: Draft, column: Column, value: str, marks: bool) -> str:
    """Return what is to be done with the rows of a word."""
    question = f"Rows have {value!r} in {column.header}. Are they to be booked?"
    choices = [Choice("leave-out", "no"), Choice("book", "yes")]
    if marks:
        meaning = "no, and what was booked of them is to be taken back"
        choices.append(Choice("cancelled", meaning))
    return draft.ask(f"leave-out.{value}", question, choices)


def _has_each_order_once(
    draft: Draft,
    column: Column,
    cancelled: Collection[str],
    rules: Collection[dict[str, str]],
) -> bool:
    """Return whether no order has some rows of one status and others of another.

    An order may be listed again for each status, and have lines that are cancelled.

    Args:
      draft: The layout.
      column: The column of states.
      cancelled: Its words for what is cancelled.
      rules: What is left out of the file.
    """
    names = draft.table["columns"]["item"]
    headers = [names] if isinstance(names, str) else names
    items = zip(
        *(each.cells for each in draft.columns if each.header in headers), strict=True
    )
    (order,) = [c for c in draft.columns if c.header == draft.table["columns"]["order"]]
    aside = {*cancelled, *(rule["equals"] for rule in rules)}
    listed: dict[str, dict[str, Counter[tuple[str, ...]]]]
    listed = defaultdict(lambda: defaultdict(Counter))
    for number, state, item in zip(order.cells, column.cells, items, strict=True):
        if state not in aside:
            listed[number][state][item] += 1
    return all(
        each == next(iter(by_state.values()))
        for by_state in listed.values()
        for each in by_state.values()
    )
