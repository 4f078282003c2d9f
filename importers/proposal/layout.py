"""Propose a layout for the beginning of an unknown file: beliefs, reasons and doubts."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from offcut.importers.proposal.amounts import Figures, figures_of
from offcut.importers.proposal.columns import take_id, take_order, take_reference, take_text
from offcut.importers.proposal.currency import take_currency
from offcut.importers.proposal.dates import take_date
from offcut.importers.proposal.draft import Choice, Doubt, Draft, Wishes, examples
from offcut.importers.proposal.evidence import columns_of
from offcut.importers.proposal.form import Sample
from offcut.importers.proposal.kind import likely_kind
from offcut.importers.proposal.lines import take_line_amounts, take_repetition
from offcut.importers.proposal.locale import likely_locale, say_locale
from offcut.importers.proposal.payments import take_amounts
from offcut.importers.proposal.signs import doubt_directions
from offcut.importers.proposal.states import take_state
from offcut.importers.proposal.totals import check_totals, without_totals
from offcut.importers.proposal.types import take_default, take_types, type_columns

_USUAL_CHANNELS = ("Web", "Market", "Fair", "Wholesale")


def propose(sample: Sample, wishes: Wishes, answers: Mapping[str, str]) -> Draft:
    """Return a layout for a file, with what is doubtful about it.

    Args:
      sample: The file's beginning.
      wishes: What the user said beforehand.
      answers: What the user answered, by the keys of doubts.

    Raises:
      ImportRefused: The file has no dates or no amounts.
    """
    rows, rules = without_totals(sample)
    draft = Draft(sample, columns_of(sample, rows), wishes, answers)
    draft.put("kind", "", "")  # its place is the first
    _say_names(draft)
    _say_form(draft)
    if rules:
        draft.put("leave-out", rules, "lines of totals, not rows of the table")
    currencies = take_currency(draft)
    locale = likely_locale(draft)
    figures = figures_of([each for each in draft.columns if not each.is_date], locale)
    kind = likely_kind(draft, figures)
    draft.put("kind", *kind)
    _say_channel(draft)
    if kind[0] == "tally":
        if any(each.is_date and each.full for each in draft.left):
            take_date(draft)
    else:
        take_date(draft)
    if kind[0] in ("order-lines", "tally"):
        if kind[0] == "order-lines":
            take_order(draft, needed=True)
        take_text(draft, "item", "Which column says what was sold?", needed=True)
        take_line_amounts(draft, figures, currencies)
        if kind[0] == "order-lines":
            take_repetition(draft, figures)
            take_text(draft, "coupon", "Which column has the code of a reduction?")
            _ask_of_code(draft)
            if wishes.channel == "Wholesale":
                take_text(draft, "buyer", "Which column says who ordered?")
            take_id(draft)
    else:
        _take_payments(draft, figures, currencies)
    take_state(draft)
    say_locale(draft, locale)
    check_totals(draft)
    return draft


def _ask_of_code(draft: Draft) -> None:
    """Ask about a column of codes that not every row has: it may be of coupons."""
    if "coupon" in draft.table["columns"]:
        return
    codes = [each for each in draft.left if each.words == "code" and each.filled]
    codes = [each for each in codes if not each.full]
    if codes:
        question = "Which column has the code of a reduction?"
        column = draft.choose("coupon", question, codes, "none of them")
        if column:
            draft.take("coupon", column, "as answered")


def _take_payments(draft: Draft, figures: Figures, currencies: Sequence[str]) -> None:
    """Choose the columns of a file of payments or of a bank."""
    payments = draft.table["kind"] == "payments"
    types = type_columns(draft.left) if payments else []
    if payments:
        take_order(draft, needed=False)
    taken = {header for header in [draft.table["columns"].get("order")] if header}
    types = [each for each in types if each.header not in taken]
    take_id(draft)
    amounts, moved = take_amounts(draft, figures, currencies)
    types = [each for each in types if each in draft.left]
    if len(types) > 1:
        question = "Which column says what kind of movement a row is?"
        chosen = draft.choose("type", question, types)
        types = [chosen or types[0]]
    if types:
        take_types(draft, types[0], moved)
        take_reference(draft)
    take_text(draft, "text", "Which column has the text of a movement?")
    take_text(draft, "payee", "Which column says who paid or was paid?")
    if payments and not types:
        take_default(draft, amounts)
    doubt_directions(draft, moved)


def _say_names(draft: Draft) -> None:
    """Say source, channel and name by the user's wishes, or by the file's name."""
    words = re.findall(r"[a-z]+", draft.sample.name.rpartition(".")[0].casefold())
    slug = "-".join(word for word in words if word.isascii()) or "file"
    wishes = draft.wishes
    why = "as wished" if wishes.source else "by the file's name"
    draft.put("source", wishes.source or wishes.name or slug, why)
    if wishes.channel:
        draft.put("channel", wishes.channel, "as wished")
    else:
        draft.put("channel", "", "")


def _say_channel(draft: Draft) -> None:
    """Say the channel that sales belong to: no file tells it."""
    if draft.table["channel"]:
        return
    if draft.table["kind"] in ("bank", "tally"):
        channel = "Bank" if draft.table["kind"] == "bank" else "Fair"
        draft.put("channel", channel, "usual for such a file")
        return
    names = dict.fromkeys([*draft.wishes.channels, *_USUAL_CHANNELS])
    question = "Which channel do the sales belong to?"
    choices = [Choice(name, f"Income:Sales:{name}") for name in names]
    answer = draft.ask("channel", question, choices, free=True)
    draft.put("channel", answer, "as answered")


def _say_form(draft: Draft) -> None:
    """Say encoding, delimiter, preamble, and names where there is no heading."""
    sample = draft.sample
    encoding = sample.encodings[0].name
    if len(sample.encodings) > 1:
        choices = [Choice(each.name, f"reads {each.example}") for each in sample.encodings]
        encoding = draft.ask("file.encoding", "In which encoding are words right?", choices)
    if encoding != "utf-8":
        draft.put("file.encoding", encoding, "by the file's bytes")
    if sample.delimiter != ",":
        name = "tab" if sample.delimiter == "\t" else sample.delimiter
        draft.put("file.delimiter", name, "it parts every row into as many cells")
    if sample.preamble:
        draft.put("file.preamble", sample.preamble, "lines before the headings")
    if not sample.has_header:
        draft.put("file.names", list(sample.header), "the file has no headings")


def beliefs(draft: Draft) -> list[tuple[str, str, str]]:
    """Return what is believed of every column, and why: heading, key, reason."""
    found = []
    headers = [column.header for column in draft.columns]
    for column in draft.columns:
        key, why = draft.roles.get(column.at, ("", ""))
        if not why:
            twice = column.header and headers.count(column.header) > 1
            why = "its heading stands there twice" if twice else examples(column)
        found.append((column.header, key, why))
    return found


def open_doubts(draft: Draft) -> list[Doubt]:
    """Return the doubts of a layout, those that are asked first in front."""
    first = ("file.encoding", "kind", "currency", "channel", "forms.locale", "columns.date")
    order = {key: at for at, key in enumerate(first)}
    return sorted(draft.doubts, key=lambda doubt: order.get(doubt.key, len(first)))
