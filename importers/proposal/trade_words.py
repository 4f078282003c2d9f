"""The trade's words for columns and for movements of money, in several languages.

They are evidence beside the cells, no more. Plain words of bookkeeping, banking and the
mail, as dictionaries have them; no product's own headings.
"""

from __future__ import annotations

from offcut.importers.layout import Movement
from offcut.importers.proposal.order_words import order_score
from offcut.importers.proposal.plain_words import plain_words

# Phrases are parted by commas; the first ones of a key are the plainer ones.
_HEADINGS = {
    "date": """date, day, transaction date, booking date, posting date, posted, created,
        order date, ordered, datum, tag, buchungstag, buchungsdatum, bestelldatum, date
        operation, date de l operation, date comptable, jour, fecha, fecha operacion, fecha
        de operacion, data, data operazione, data contabile, data ordine, transactiedatum,
        boekdatum, besteldatum, bokforingsdag, bokforingsdatum, dag, dato, data transakcji,
        data ksiegowania, data movimento""",
    "other-date": """value date, valuta, wertstellung, valutadatum, date valeur, date de
        valeur, fecha valor, data valuta, valutadag, data waluty, available, available on,
        due, due date, paid on, payment date, shipped, ship date, delivery date, delivered,
        faellig, faelligkeit, zahlungsdatum, versanddatum, lieferdatum, echeance, date de
        paiement, vencimiento, scadenza, vervaldatum, forfallodag""",
    "type": """type, kind, entry, event, movement, transaction type, art, vorgang, typ,
        umsatzart, buchungsart, nature, type d operation, tipo, tipo de movimiento, tipo
        movimento, tipo operazione, soort, transactiesoort, transaktionstyp, rodzaj,
        handelse, operazione, operation""",
    "order": """order, order number, order no, order id, bestellung, bestellnummer,
        bestellnr, auftrag, auftragsnummer, auftragsnr, commande, numero de commande, no
        commande, pedido, numero de pedido, n pedido, ordine, numero ordine, bestelling,
        bestelnummer, encomenda, numero da encomenda, ordernummer, zamowienie, numer
        zamowienia, invoice, invoice number, invoice no, rechnung, rechnungsnummer, facture,
        numero de facture, factura, fattura, factuur, faktura""",
    "text": """text, description, details, memo, note, particulars, narrative,
        beschreibung, verwendungszweck, buchungstext, vermerk, libelle, description,
        detail, concepto, descripcion, detalle, descrizione, causale, omschrijving,
        mededelingen, descricao, historico, beskrivning, meddelande, opis, tytul""",
    "payee": """payee, payer, counterparty, name, beneficiary, empfaenger,
        zahlungspflichtiger, auftraggeber, beguenstigter, beneficiaire, tiers,
        beneficiario, ordenante, controparte, tegenpartij, naam, mottagare,
        avsaendare, kontrahent, nadawca""",
    "gross": """gross, amount, gross amount, total, sum, value, brutto, betrag,
        bruttobetrag, umsatz, summe, montant, brut, montant brut, somme, importe, bruto,
        importe bruto, importo, lordo, importo lordo, bedrag, brutobedrag, valor, valor
        bruto, montante, belopp, bruttobelopp, beloeb, kwota, kwota brutto""",
    "credit": """credit, money in, paid in, in, deposits, received, haben, gutschrift,
        eingang, credit, entree, haber, abono, ingreso, ingresos, avere, accrediti, entrate,
        bij, credito, entrada, entradas, insattning, kredit, uznania, wplywy""",
    "debit": """debit, money out, paid out, out, withdrawals, spent, soll, belastung,
        ausgang, debit, sortie, debe, cargo, gasto, gastos, dare, addebiti, uscite, af,
        debito, saida, saidas, uttag, debet, obciazenia, wydatki""",
    "fee": """fee, fees, charge, charges, commission, gebuehr, gebuehren, entgelt,
        provision, frais, commissions, comision, comisiones, commissione, commissioni,
        kosten, taxa, taxas, comissao, avgift, avgifter, gebyr, oplata, oplaty, prowizja""",
    "net": """net, net amount, payable, netto, nettobetrag, net a payer, montant net, neto,
        importe neto, importo netto, nettobedrag, liquido, valor liquido, nettobelopp,
        kwota netto""",
    "tax": """tax, sales tax, vat, gst, ust, mwst, steuer, umsatzsteuer, mehrwertsteuer,
        tva, taxe, taxes, iva, impuesto, imposta, btw, imposto, moms, podatek""",
    "tax-remitted": """tax remitted, remitted tax, tax withheld, tax kept back, marketplace
        tax, tax collected and remitted, abgefuehrte steuer, einbehaltene steuer, taxe
        reversee, impuesto retenido, imposta trattenuta, ingehouden btw""",
    "shipping": """shipping, postage, delivery, carriage, versand, versandkosten, porto,
        lieferung, livraison, frais de port, port, envio, gastos de envio, spedizione,
        spese di spedizione, verzending, verzendkosten, frete, portes, frakt, wysylka""",
    "tip": """tip, tips, gratuity, trinkgeld, pourboire, propina, mancia, fooi, gorjeta,
        dricks, napiwek""",
    "balance": """balance, running balance, balance after, saldo, kontostand, solde, saldo
        contable, saldo despues""",
    "currency": """currency, currency code, money, waehrung, devise, moneda, divisa,
        valuta, munt, muntsoort, moeda, waluta""",
    "id": """id, reference, reference number, ref, entry number, transaction id,
        transaction number, transaction no, referenz, referenznummer, vorgangsnummer,
        buchungsnummer, transaktionsnummer, identifiant, numero de transaction, referencia,
        identificador, riferimento, identificativo, kenmerk, referentie, referensnummer,
        referens, numer referencyjny, numer transakcji""",
    "item": """item, item name, product, product name, title, goods, article, design,
        artikel, artikelname, produkt, titel, bezeichnung, ware, produit, designation,
        articulo, producto, titulo, articolo, prodotto, titolo, product, artigo, produto,
        vara, towar""",
    "quantity": """quantity, qty, pieces, units, count, sold, menge, anzahl, stueck,
        stueckzahl, quantite, qte, nombre, cantidad, unidades, quantita, pezzi, aantal,
        stuks, quantidade, antal, kvantitet, ilosc""",
    "unit-price": """unit price, price each, price per piece, each, einzelpreis,
        stueckpreis, preis pro stueck, prix unitaire, prix a l unite, precio unitario,
        prezzo unitario, stukprijs, prijs per stuk, preco unitario, styckpris, a pris, cena
        jednostkowa""",
    "price": """price, preis, prix, precio, prezzo, prijs, preco, pris, cena""",
    "amount": """line total, line amount, subtotal, zeilensumme, positionssumme,
        gesamtpreis, zwischensumme, total ligne, sous total, total linea, totale riga,
        regeltotaal, subtotaal, total da linha, radsumma, delsumma, wartosc""",
    "discount": """discount, reduction, rebate, rabatt, nachlass, remise, rabais,
        descuento, sconto, korting, desconto, rabat""",
    "order-discount": """order discount, basket discount, auftragsrabatt, bestellrabatt,
        remise commande, descuento del pedido, sconto ordine, bestelkorting""",
    "discount-rate": """discount rate, discount percent, rabattsatz, rabatt prozent, taux
        de remise, porcentaje de descuento, percentuale sconto, kortingspercentage""",
    "coupon": """coupon, voucher, coupon code, discount code, gutschein, gutscheincode,
        rabattcode, code de reduction, cupon, codigo de descuento, buono, codice sconto,
        kortingscode, cupom, rabattkod, kod rabatowy""",
    "buyer": """buyer, customer, client, kunde, kaeufer, besteller, acheteur, client,
        cliente, comprador, acquirente, klant, koper, kund, kopare, klient, nabywca""",
}

_MOVEMENTS: dict[Movement, str] = {
    "sale": """sale, sales, order, payment, card payment, charge, purchase, payment
        received, verkauf, bestellung, zahlung, kauf, zahlungseingang, vente, commande,
        paiement, achat, venta, pedido, pago, vendita, ordine, pagamento, verkoop,
        bestelling, betaling, venda, encomenda, forsaljning, kop, betalning, sprzedaz,
        zamowienie, platnosc""",
    "refund": """refund, partial refund, payment refund, return, rueckerstattung,
        erstattung, rueckzahlung, retoure, remboursement, retour, reembolso, devolucion,
        rimborso, reso, terugbetaling, estorno, aterbetalning, retur, zwrot""",
    "fee": """fee, fees, charge, charges, listing fee, advertising, advertising fee,
        subscription, monthly fee, commission, gebuehr, gebuehren, werbung, abonnement,
        provision, frais, publicite, commission, comision, publicidad, suscripcion,
        commissione, pubblicita, abbonamento, kosten, advertentie, taxa, comissao, avgift,
        annonsering, oplata, prowizja""",
    "payout": """payout, transfer, withdrawal, payment, bank transfer, auszahlung,
        ueberweisung, virement, retrait, versement, transferencia, retiro, pago, bonifico,
        prelievo, accredito, uitbetaling, opname, overboeking, saque, utbetalning,
        overforing, wyplata, przelew""",
    "dispute": """dispute, chargeback, claim, rueckbuchung, reklamation, litige,
        contestation, disputa, contracargo, contestazione, geschil, reclamatie,
        disputa, tvist, spor, reklamacja""",
    "dispute-fee": """dispute fee, chargeback fee, rueckbuchungsgebuehr, frais de litige,
        comision por disputa, commissione contestazione, geschilkosten""",
    "reversal": """reversal, dispute reversal, chargeback reversal, dispute won, claim
        closed, dispute closed, storno rueckbuchung, litige gagne, disputa ganada""",
    "hold": """hold, reserve, reserve hold, held, einbehalt, retenue, retencion,
        reservering""",
    "release": """release, reserve release, released, freigabe, liberation, liberacion,
        svincolo, vrijgave""",
    "tip": "tip, tips, gratuity, trinkgeld, pourboire, propina, mancia, fooi, gorjeta",
    "gift-card-sale": """gift card sale, gift card sold, gutscheinverkauf, vente carte
        cadeau, venta tarjeta regalo""",
    "gift-card-use": """gift card use, gift card used, gift card redeemed, gift card
        redemption, gutscheineinloesung, carte cadeau utilisee""",
    "deposit": """deposit, down payment, anzahlung, acompte, anticipo, acconto,
        aanbetaling, sinal, handpenning, zaliczka""",
    "tax-remitted": """tax remitted, remitted tax, tax withheld, abgefuehrte steuer, taxe
        reversee, impuesto retenido""",
    "conversion": """conversion, currency conversion, exchange, currency exchange,
        umrechnung, waehrungsumrechnung, conversion de devise, cambio de divisa, cambio
        valuta, valutawissel, vaxling""",
    "postage": """postage, label, shipping label, postage label, porto, versandmarke,
        affranchissement, franqueo, affrancatura, frankering""",
    "adjustment": """adjustment, correction, korrektur, berichtigung, ajustement, ajuste,
        rettifica, correctie, justering, korekta""",
}

# Which way money goes in a movement, where it can go one way only.
DIRECTIONS: dict[Movement, int] = {
    **dict.fromkeys(("sale", "reversal", "release", "tip", "gift-card-sale", "deposit"), 1),
    **dict.fromkeys(("refund", "fee", "payout", "dispute", "dispute-fee", "hold"), -1),
    "tax-remitted": -1,
}

_TOTALS = """total, totals, grand total, sum, summe, gesamt, gesamtsumme, somme, totale,
    suma, totaal, razem, subtotal, balance, opening balance, closing balance, balance
    brought forward, balance carried forward, saldo, anfangssaldo, endsaldo, kontostand,
    solde, ancien solde, nouveau solde, saldo inicial, saldo final, saldo iniziale,
    saldo finale, beginsaldo, eindsaldo, rows, number of rows, end, ende"""


def _table(phrases: str) -> frozenset[str]:
    words = [" ".join(phrase.split()) for phrase in phrases.split(",")]
    # Swedish spells its letters with one sign, German takes two for the same.
    return frozenset(plain_words(word) for word in words)


HEADINGS = {key: _table(phrases) for key, phrases in _HEADINGS.items()}
MOVEMENT_WORDS = {movement: _table(phrases) for movement, phrases in _MOVEMENTS.items()}
TOTALS = _table(_TOTALS)


def _spellings(words: str) -> set[str]:
    return {words, words.replace("ae", "a").replace("oe", "o").replace("ue", "u")}


def heading_score(heading: str, key: str) -> int:
    """Return how well a heading names a column: 3 wholly, 2 with other words, 0 not.

    Args:
      heading: As `plain_words` gives it.
      key: A key of `HEADINGS`.
    """
    phrases = HEADINGS[key]
    if key == "order" and order_score(heading):
        return 3
    best = 0
    for words in _spellings(heading):
        if words in phrases or words.replace(" ", "") in phrases:  # as in Brutto-Betrag
            return 3
        padded = f" {words} "
        if any(f" {phrase} " in padded for phrase in phrases if len(phrase) > 2):
            best = 2
    return best


def is_heading(heading: str) -> bool:
    """Return whether a heading is one of the trade's words, as `plain_words` gives it."""
    return any(heading_score(heading, key) for key in HEADINGS)


def movements_named(word: str) -> tuple[list[Movement], bool]:
    """Return the movements that a word may stand for, and whether it is wholly theirs.

    Args:
      word: A word of a type column.
    """
    spellings = _spellings(plain_words(word))
    whole: list[Movement] = [
        movement for movement, phrases in MOVEMENT_WORDS.items() if spellings & phrases
    ]
    if whole:
        return whole, True
    length: dict[Movement, int] = {}
    for movement, phrases in MOVEMENT_WORDS.items():
        for words in spellings:
            for phrase in phrases:
                if f" {phrase} " in f" {words} ":
                    length[movement] = max(length.get(movement, 0), len(phrase))
    longest = max(length.values(), default=0)
    return [movement for movement, size in length.items() if size == longest], False


def names_a_total(text: str) -> bool:
    """Return whether a cell begins like a line of totals does."""
    words = plain_words(text)
    return any(words == each or words.startswith(f"{each} ") for each in TOTALS)
