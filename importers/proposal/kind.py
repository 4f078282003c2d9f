"""Tell what kind of file an unknown one is: payments, bank, order lines or a tally."""

from __future__ import annotations

from offcut.importers.layout_schema import KINDS
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.amounts import Figures
from offcut.importers.proposal.columns import best_named, like_orders
from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.lines import quantity_columns
from offcut.importers.proposal.payments import money_columns
from offcut.importers.proposal.trade_words import heading_score
from offcut.importers.proposal.types import has_movements, type_columns

KIND_MEANINGS = {
    "payments": "what a processor or marketplace paid, charged and took back",
    "bank": "the statement of a bank account",
    "order-lines": "what was sold, a row an item of an order",
    "tally": "what was sold at a fair, by item",
}


def likely_kind(draft: Draft, figures: Figures) -> tuple[str, str]:
    """Return the kind of the file, and why."""
    kind, why = draft.wishes.kind, "as wished"
    if not kind:
        kind, why = _kind_by_columns(draft, figures)
    lines = kind in ("order-lines", "tally")
    if kind not in KINDS or (lines and not quantity_columns(draft, figures)):
        message = (
            f"expected a column with the number of pieces for {kind}, found none; choose "
            "another by --kind"
        )
        raise ImportRefused([Problem(draft.sample.name, None, None, message)])
    return kind, why


def _kind_by_columns(draft: Draft, figures: Figures) -> tuple[str, str]:
    left = draft.left

    def has(key: str) -> bool:
        return bool(best_named(left, key))

    if quantity_columns(draft, figures) and (has("item") or has("order")):
        if has("order") or like_orders(draft):
            return "order-lines", "it has orders, items and quantities"
        return "tally", "it has items and quantities, and no orders"
    money = money_columns(draft, figures)
    fees = best_named(money, "fee") or (best_named(money, "net") and len(money) > 1)
    types = [each for each in type_columns(left) if heading_score(each.words, "type")]
    if fees or has("order"):
        return "payments", "it has fees, nets or orders"
    balance = bool(best_named(money, "balance"))
    pair = best_named(money, "credit") and best_named(money, "debit")
    if (balance or pair) and not types:
        return "bank", "it has a balance, or money in and out, and no fees or orders"
    if types and not balance and not pair:
        return "payments", "a column says what moved"
    signs = {value > 0 for each in money for value in figures[each.at] if value}
    words = [each for each in left if each.full and has_movements(each)]
    if len(signs) == 2 and not types and not words and not like_orders(draft):
        return "bank", "money goes both ways, and nothing says more: the least is claimed"
    first, second = ("bank", "payments") if balance or pair else ("payments", "bank")
    choices = [Choice(each, KIND_MEANINGS[each]) for each in (first, second)]
    return draft.ask("kind", "What is this file?", choices), "as answered"
