"""Tell whether a heading is of order numbers, in the languages of many shops.

Headings put a word for an order and one for a number together in any way: `Bestell-Nr.`,
`N° commande`, `Ordine n.`, `Order #`. The CLDR has no words of trade; these are plain
dictionary words, from memory, and evidence beside the cells, no more.
"""

from __future__ import annotations

import re

from offcut.importers.proposal.plain_words import plain_words

# What a word for an order, or for its invoice, begins with.
_ORDERS = (
    *("order", "bestell", "bestel", "auftrag", "commande", "cmde", "cde", "pedido"),
    *("comanda", "ordine", "ordre", "encomenda", "zamowien", "objednav", "rendeles"),
    *("megrendeles", "tilau", "siparis", "narudz", "narocil", "pasutijum", "uzsakym"),
    *("tellimus", "pesanan", "заказ", "замовлен", "поръчк", "наруџбин", "παραγγελι"),
    *("注文", "订单", "訂單", "주문", "invoice", "rechnung", "facture", "factura"),
    *("fattura", "factuur", "faktur", "fatura", "lasku", "szamla"),
)
_NUMBERS = (
    *("no", "nr", "n", "num", "number", "nummer", "numero", "numer", "numara", "numarasi"),
    *("cislo", "broj", "szam", "szama", "stevilka", "numeris", "numurs", "nomor", "id"),
    *("ids", "ref", "refs", "reference", "referenz", "referencia", "riferimento", "code"),
    *("kod", "codigo", "codice", "номер", "αριθμος", "番号", "号", "编号", "編號", "번호"),
)
_LITTLE = frozenset(
    ("de", "d", "del", "da", "do", "della", "dell", "di", "la", "el", "il", "the", "of")
)
_ENDING = 4  # letters by which a word is bent: Bestellung, objednávky, zamówienia
# What makes another word of it: ordered, Bestelltag.
_NOT_ENDINGS = frozenset(("ed", "er", "tag", "date", "wert", "art", "typ", "type"))
# What links two words to one: Auftrags-, Bestellungs-, Tilaus-.
_LINK = re.compile("^(?:ungs|ung|s|es|en|e)")


_ORDER_STEMS = tuple(map(plain_words, _ORDERS))
_NUMBER_WORDS = frozenset(map(plain_words, _NUMBERS))


def order_score(heading: str) -> int:
    """Return 3 where a heading says an order's number, or an order, and nothing else.

    Args:
      heading: As `plain_words` gives it.
    """
    words = [word for word in heading.split() if word not in _LITTLE]
    orders = [word for word in words if _is_order(word)]
    others = [word for word in words if word not in _NUMBER_WORDS and not _is_order(word)]
    return 3 if orders and not others else 0


def _is_order(word: str) -> bool:
    """Return whether a word is an order, bent or with a number at its end."""
    rests = [word[len(stem) :] for stem in _ORDER_STEMS if word.startswith(stem)]
    return any(
        rest in _NUMBER_WORDS
        or _LINK.sub("", rest) in _NUMBER_WORDS
        or (len(rest) <= _ENDING and rest not in _NOT_ENDINGS)
        for rest in rests
    )
