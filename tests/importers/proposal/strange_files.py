"""Files of forms that no layout knows, with what is in them."""

from __future__ import annotations

import csv
import datetime
import io
import random
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from babel.dates import format_date
from babel.numbers import format_decimal

Record = dict[str, Any]

HEADINGS = {
    "date": ("Date", "Booking date", "Datum", "Buchungstag", "Fecha", "Data", "Posted"),
    "other": ("Value date", "Wertstellung", "Date valeur", "Valutadatum", "Available on"),
    "type": ("Type", "Vorgang", "Nature", "Tipo", "Soort", "Entry", "Transaction type"),
    "order": ("Order", "Order number", "Bestellnummer", "Numéro de commande", "Pedido"),
    "text": ("Description", "Verwendungszweck", "Libellé", "Concepto", "Omschrijving"),
    "gross": ("Gross", "Amount", "Betrag", "Montant brut", "Importe", "Importo", "Belopp"),
    "fee": ("Fee", "Charges", "Gebühr", "Frais", "Comisión", "Avgift", "Commissione"),
    "net": ("Net", "Netto", "Net amount", "Importe neto", "Kwota netto"),
    "credit": ("Money in", "Haben", "Entrate", "Paid in", "Ingresos"),
    "debit": ("Money out", "Soll", "Uscite", "Paid out", "Gastos"),
    "balance": ("Balance", "Saldo", "Kontostand", "Solde"),
    "currency": ("Currency", "Währung", "Devise", "Moneda", "Waluta"),
    "id": ("Reference", "Transaction ID", "Referenz", "Kenmerk", "Riferimento"),
    "item": ("Item", "Artikel", "Produit", "Artículo", "Product name", "Vara"),
    "quantity": ("Quantity", "Menge", "Quantité", "Cantidad", "Aantal", "Pieces"),
    "unit-price": ("Unit price", "Einzelpreis", "Prix unitaire", "Stukprijs", "Price"),
    "amount": ("Line total", "Gesamtpreis", "Total ligne", "Amount", "Betrag"),
    "discount": ("Discount", "Rabatt", "Remise", "Descuento", "Korting"),
    "shipping": ("Shipping", "Versandkosten", "Frais de port", "Verzendkosten"),
    "direction": ("D/C", "in/out", "Richtung", "S/H", "Sign", "Details"),
    "tax": ("Sales tax", "Mehrwertsteuer", "TVA", "IVA", "Btw"),
}
WORDS = {
    "sale": ("Sale", "Zahlung", "Vente", "Pago", "Order", "Payment", "Bestellung"),
    "refund": ("Refund", "Rückerstattung", "Remboursement", "Reembolso", "Return"),
    "payout": ("Payout", "Auszahlung", "Virement", "Transfer", "Utbetalning"),
    "fee": ("Listing fee", "Gebühr", "Advertising", "Abonnement", "Charge"),
}
DATES = (
    *("%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y", "%m/%d/%Y", "%Y/%m/%d", "%d-%m-%Y", "%Y%m%d"),
    *("%d %b %Y", "%b %d, %Y", "%d.%m.%y", "%Y-%m-%dT%H:%M:%S", "%d/%m/%Y %H:%M"),
)
# Languages and patterns of the CLDR (UTS 35), by which Babel writes dates.
NAMED_DATES = (
    *(("de", "d. MMMM y"), ("fr", "d MMM y"), ("es", "d 'de' MMMM 'de' y")),
    *(("sv", "EEEE d MMM y"), ("pl", "d-MMM-yy"), ("hu", "y. MMM d."), ("en", "MMM. d, y")),
)
ITEMS = ("Heron print", "Moth card", "Fern sticker, 3 in", "Grüße card", 'The "Owl" print')
DIRECTIONS = (("C", "D"), ("in", "out"), ("Credit", "Debit"), ("H", "S"), ("+", "-"))
DIRECTIONS += (("CR", ""), ("Zu", "Ab"), ("1", "0"))
TEXTS = ("Paper mill", "Rent, March", "Café order", "Tinte & Papier", "Post office", "Ink")
# Columns that say nothing of what is to be booked, and headings that say nothing at all.
BESIDE: dict[str, tuple[str, Callable[[random.Random], str]]] = {
    "town": ("Town", lambda chance: chance.choice(("Harbour", "Mill End", "Ås"))),
    "land": ("Country", lambda chance: chance.choice(("US", "DE", "FR"))),
    "state": ("Status", lambda chance: "completed"),
    "weight": ("Weight", lambda chance: str(chance.randint(5, 900))),
    "share": ("Fee %", lambda chance: f"{chance.randint(1, 9)}%"),
    "parcel": ("Parcel", lambda chance: f"Z{chance.randint(10**8, 10**9)}"),
    "name": ("Customer", lambda chance: chance.choice(("A. Example", "B. Example"))),
}
UNKNOWN = (
    "Kolumna A",
    "Xq",
    "F3",
    "Field 12",
    "Ooo",
    "Ipsum",
    "Dolor",
    "Sit",
    "Amet",
    "Zz",
)
# The locale by which a file's numbers are written; how its other spellings differ.
LOCALES = ("en_US", "en_US", "de_DE", "de_DE", "fr_FR", "de_CH", "en_IN", "sv_SE")


class Strange(NamedTuple):
    """A file, and what is in it.

    Attributes:
      kind: The kind of layout that reads it.
      contents: Its bytes.
      records: What is in it, a record a row.
      currency: The currency, where no column says it; else empty.
      readable: Whether any layout can say what is in it.
    """

    kind: str
    contents: bytes
    records: list[Record]
    currency: str
    readable: bool


def strange_file(seed: int) -> Strange:
    """Make a file."""
    chance = random.Random(seed)
    kind = chance.choice(("payments", "payments", "order-lines", "bank"))
    make = {"payments": _payments, "order-lines": _lines, "bank": _bank}[kind]
    records, readable = make(chance)
    inside = ("day", "movement", "currency", "written")
    keys = [key for key in records[0] if key not in inside]
    keys.append("date")
    if kind == "payments":
        keys.append("type")
    own_currency = chance.random() < 0.5 or len({each["currency"] for each in records}) > 1
    currency = records[0]["currency"]
    if own_currency:
        keys.append("currency")
    if chance.random() < 0.2:
        keys.append("other")
    keys += [key for key in BESIDE if chance.random() < 0.08]
    chance.shuffle(keys)
    headings: dict[str, str] = {}
    vague = chance.random() < 0.1
    for key in keys:
        names = (BESIDE[key][0],) if key in BESIDE else HEADINGS[key]
        if vague and key not in BESIDE and chance.random() < 0.3:
            names = UNKNOWN
        free = [each for each in names if each not in headings.values()]
        headings[key] = chance.choice(free)
    rows = _rows(chance, records, keys)
    contents = _bytes(chance, [headings[key] for key in keys], rows, keys)
    return Strange(kind, contents, records, "" if own_currency else currency, readable)


def _payments(chance: random.Random) -> tuple[list[Record], bool]:
    currencies = chance.choice((("USD",), ("EUR",), ("GBP",), ("JPY",), ("EUR", "USD")))
    refunds_positive = chance.random() < 0.05
    with_net, with_order = chance.random() < 0.7, chance.random() < 0.8
    records = []
    for number in range(chance.randint(4, 40)):
        movement = chance.choices(("sale", "refund", "payout", "fee"), (8, 1, 1, 1))[0]
        currency = chance.choice(currencies)
        unit = Decimal(1) if currency == "JPY" else Decimal("0.01")
        gross = chance.randint(100, 300_000) * unit
        fee = (gross * Decimal("0.03")).quantize(unit)
        if movement != "sale":
            gross, fee = -gross, Decimal(0)
        record = {
            "day": _day(chance),
            "movement": movement,
            "gross": gross,
            "fee": fee,
            "currency": currency,
            "id": f"tx{chance.randint(1000, 9999)}{number:03}",
            "text": chance.choice(TEXTS),
        }
        if with_net:
            record["net"] = gross - fee
        if with_order:
            record["order"] = f"W{1000 + number}" if movement in ("sale", "refund") else ""
        if refunds_positive and movement == "refund":
            record["written"] = {"gross": -gross, "net": fee - gross}
        records.append(record)
    return records, not any("written" in record for record in records)


def _bank(chance: random.Random) -> tuple[list[Record], bool]:
    pair, with_balance = chance.random() < 0.4, chance.random() < 0.6
    balance = Decimal(chance.randint(0, 1_000_000)) / 100
    negative = chance.random() < 0.3  # what goes out, in its own column
    currency = chance.choice(("USD", "EUR", "GBP"))
    records = []
    for number in range(chance.randint(4, 40)):
        amount = Decimal(chance.randint(-300_000, 300_000) or 1) / 100
        balance += amount
        record: Record = {"day": _day(chance), "movement": "bank", "currency": currency}
        if pair:
            record |= {"credit": amount if amount > 0 else None}
            record |= {"debit": -amount if amount < 0 else None}
            if negative and amount < 0:
                record["written"] = {"debit": amount}
        else:
            record["gross"] = amount
        if with_balance or pair:
            record["balance"] = balance
        record["text"] = f"{chance.choice(TEXTS)} {number}"
        records.append(record)
    unsigned = "" if pair else chance.choice(("", "", "", "", "balance", "direction"))
    readable = not unsigned or _write_unsigned(chance, records, unsigned)
    if chance.random() < 0.3:  # the newest first
        records.reverse()
    return records, readable


def _write_unsigned(chance: random.Random, records: list[Record], told_by: str) -> bool:
    """Write amounts without signs; return whether all are right so.

    Args:
      chance: The source of chance.
      records: The rows of a bank, the earliest first.
      told_by: What says the signs: the balance, or the words of a column "direction".
    """
    inward, outward = chance.choice(DIRECTIONS)
    first = records[0]  # no balance before it tells its sign
    first["gross"] = abs(first["gross"])
    balance = Decimal(chance.randint(-100_000, 100_000)) / 100
    for record in records:
        amount = record["gross"]
        record["written"] = {"gross": abs(amount)}
        balance += amount
        if told_by == "balance":
            record["balance"] = balance
        else:
            record.pop("balance", None)
            record["direction"] = inward if amount > 0 else outward
    return all(record["gross"] > 0 for record in records)


def _lines(chance: random.Random) -> tuple[list[Record], bool]:
    currency = chance.choice(("USD", "EUR", "GBP"))
    whole_order = chance.random() < 0.5
    form = chance.choice(("unit-price", "amount", "both"))
    discounted = chance.random() < 0.4
    less = discounted and chance.random() < 0.5  # amounts are after the discount
    records: list[Record] = []
    prices = {item: Decimal(chance.randint(100, 90_000)) / 100 for item in ITEMS}
    for order in range(chance.randint(3, 20)):
        day = _day(chance)
        shipping = Decimal(chance.choice(("0.00", "2.50", "4.95")))
        tax = Decimal(chance.randint(1, 900)) / 100
        lines = chance.randint(1, 3)
        for line, item in enumerate(chance.sample(ITEMS, lines)):
            quantity = Decimal(chance.choice((1, 1, 1, 1, 2, 2, 3, 10, 1200, -1)))
            first = whole_order or line == 0
            record: Record = {
                "day": day,
                "order": f"#{2000 + order}",
                "item": item,
                "quantity": quantity,
                "shipping": shipping if first else Decimal("0.00"),
                "tax": tax if first else Decimal("0.00"),
                "currency": currency,
            }
            if form in ("unit-price", "both"):
                record["unit-price"] = prices[item]
            if form in ("amount", "both"):
                record["amount"] = prices[item] * quantity
            if discounted:
                record["discount"] = Decimal(chance.choice(("0.00", "0.50", "1.00")))
                if less and "amount" in record:
                    record["written"] = {"amount": record["amount"] - record["discount"]}
            records.append(record)
    discounts = any(record.get("discount") for record in records)
    return records, not (less and form == "amount" and discounts)


def _day(chance: random.Random) -> datetime.date:
    return datetime.date(2025, chance.randint(1, 12), chance.randint(1, 28))


def _rows(
    chance: random.Random, records: Sequence[Record], keys: Sequence[str]
) -> list[list[str]]:
    """Return the cells of each record."""
    write_date = _date_writer(chance)
    words = {}
    for movement, each in WORDS.items():
        words[movement] = chance.choice([w for w in each if w not in words.values()])
    locale, currencies = chance.choice(LOCALES), {each["currency"] for each in records}
    write = _writer(chance, locale, currencies)
    fee_sign = chance.choice((1, -1))
    discount_sign = chance.choice((1, -1))
    grouped = chance.random() < 0.5

    def cell(key: str, record: Record) -> str:
        if key in ("date", "other"):
            day = record["day"] + datetime.timedelta(days=key == "other")
            return write_date(datetime.datetime.combine(day, datetime.time(13, 5)))
        if key == "type":
            return words[record["movement"]]
        if key in BESIDE:
            return BESIDE[key][1](chance)
        value = record.get("written", {}).get(key, record[key])
        if key == "quantity":
            return str(format_decimal(value, "#,##0" if grouped else "0", locale))
        if value is None:
            return ""
        if isinstance(value, Decimal):
            sign = {"fee": fee_sign, "discount": discount_sign}.get(key, 1)
            return write(sign * value)
        return str(value)

    return [[cell(key, record) for key in keys] for record in records]


def _date_writer(chance: random.Random) -> Callable[[datetime.datetime], str]:
    """Return what writes dates in the way of one file."""
    if chance.random() < 0.2:
        locale, pattern = chance.choice(NAMED_DATES)
        return lambda day: str(format_date(day.date(), pattern, locale))
    form = chance.choice(DATES)
    return lambda day: day.strftime(form)


def _writer(
    chance: random.Random, locale: str, currencies: set[str]
) -> Callable[[Decimal], str]:
    """Return what writes amounts in the way of one file."""
    grouped = chance.random() < 0.6
    minus = chance.choice(("before", "before", "after", "parentheses", "sign"))
    symbol = chance.choice(("", "", "", "code", "symbol"))
    blank = chance.choice((" ", "\xa0", "\u202f"))
    currency = min(currencies)
    if len(currencies) > 1:
        symbol = ""
    mark = {"USD": "$", "EUR": "€", "GBP": "£", "JPY": "¥"}[currency]
    zeros = "0" if currency == "JPY" else "0.00"

    def write(amount: Decimal) -> str:
        marks = ("#,##,##" if locale == "en_IN" else "#,##") if grouped else ""
        text = str(format_decimal(abs(amount), marks + zeros, locale))
        if locale in ("fr_FR", "sv_SE"):
            text = text.replace("\u202f", blank).replace("\xa0", blank)
        if locale == "de_CH":
            text = text.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
        if symbol == "code":
            text = f"{text} {currency}"
        elif symbol == "symbol":
            text = f"{mark}{text}" if locale.startswith("en") else f"{text} {mark}"
        if amount >= 0:
            return text
        return {
            "before": f"-{text}",
            "after": f"{text}-",
            "parentheses": f"({text})",
            "sign": f"\N{MINUS SIGN}{text}",
        }[minus]

    return write


def _bytes(
    chance: random.Random,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    keys: Sequence[str],
) -> bytes:
    """Return a file of rows."""
    text = io.StringIO()
    delimiter = chance.choice((",", ",", ";", ";", "\t", "|"))
    for _ in range(chance.choice((0, 0, 0, 1, 3))):
        text.write(
            chance.choice(("Statement of account", "Account: 12345", "", "Period;March"))
        )
        text.write("\n")
    writer = csv.writer(
        text,
        delimiter=delimiter,
        quoting=chance.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
        lineterminator=chance.choice(("\n", "\r\n")),
    )
    writer.writerow(headings)
    writer.writerows(rows)
    if chance.random() < 0.2:
        total = [""] * len(keys)
        total[0] = "Total"
        writer.writerow(chance.choice((total, ["Total rows: 12"])))
    encoding = chance.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"))
    try:
        return text.getvalue().encode(encoding)
    except UnicodeEncodeError:
        return text.getvalue().encode("utf-8")
