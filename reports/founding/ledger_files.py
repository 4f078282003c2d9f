"""Write a new ledger's main file, and the files in which its owner writes."""

from __future__ import annotations

import datetime

from offcut.importers.ledger_text import escaped
from offcut.reports.founding.shop import Shop


def main_file(shop: Shop) -> str:
    """Return the main file, which has no entries of its own."""
    return f"""\
;; {shop.title}: the books, from {shop.first} on.
;;
;;   main.beancount       this file: options, and which files belong to the books
;;   accounts.beancount   the accounts, and their lines of the tax form
;;   catalogue.beancount  what is sold, and what it is made of
;;   purchases.beancount  what was bought, and other bills
;;   workshop.beancount   print runs, counts, giveaways
;;   imports/             what `offcut import` makes of downloaded files
;;   inbox/               put downloaded files here; `offcut month` books them
;;   offcut.toml          what offcut has to know that is not money
;;
;; In all of them a line that begins with ;; is a remark. One that begins with a single
;; ; is an example: take the ; away, put your own words in, and it counts.
;;
;; `offcut check` says how the books stand, and what to do next.

option "title" "{escaped(shop.title)}"
option "operating_currency" "{shop.currency}"

;; This keeps stock: it works out what each piece that was sold had cost. Options and
;; plugins count in this file only, not in the files below.
plugin "offcut.plugins"

include "accounts.beancount"
include "catalogue.beancount"
include "purchases.beancount"
include "workshop.beancount"
include "imports/*.beancount"
"""


def catalogue_file(shop: Shop) -> str:
    """Return the file of products and materials: examples only."""
    day, currency = shop.eve, shop.currency
    return f"""\
;; What is sold, what it is made of, how orders are packed.
;;
;; Each thing has a short name in capitals, without blanks. `stock` says what it is for:
;; a "product" is sold, a "material" is used up in printing and packing, a "stamp" in
;; posting. The products of one design stand together in reports.

;; A product.
;{day} commodity OWL-STK
;  name: "Barn Owl, 3 in sticker"
;  stock: "product"
;  design: "Barn Owl"
;  list-price: 4.00 {currency}

;; What it is made of.
;{day} commodity VINYL
;  name: "White vinyl, a sheet"
;  stock: "material"

;; Six stickers come from one sheet: pieces first, then what goes into them.
;{day} custom "bill-of-materials" 6 OWL-STK 1 VINYL

;; How an order is packed. In offcut.toml, [packing] says which channel's orders are.
;{day} commodity MAILER
;  name: "Stiff mailer"
;  stock: "material"
;{day} commodity LETTER-STAMP
;  name: "Letter stamp"
;  stock: "stamp"
;{day} custom "packing" "letter" 1 MAILER 1 LETTER-STAMP
"""


def purchases_file(shop: Shop) -> str:
    """Return the file of purchases and bills: examples only."""
    first, currency = shop.first, shop.currency
    later = first + datetime.timedelta(days=1)
    return f"""\
;; What was bought, and other bills.
;;
;; What goes onto a shelf is written with how many there are and what they cost
;; together, in double braces. It becomes a cost once it is sold, used up or spoiled.
;;
;; A bill is owed to Liabilities:Suppliers until it is paid. Where you import the bank's
;; file, a [[bank]] rule in offcut.toml books the payment there; where you do not, write
;; Assets:Bank:Checking in its place.

;; Sheets, with the postage to get them here as a part of what they cost.
;{first} * "Paper supplier" "White vinyl, 50 sheets"
;  Assets:Materials:VINYL         50 VINYL {{{{22.50 {currency}}}}}
;  Expenses:Inbound:Freight     4.50 {currency}
;    spread: "value"
;  Liabilities:Suppliers      -27.00 {currency}

;; Mailers and stamps.
;{first} * "Packaging supplier" "Mailers and stamps"
;  Assets:Materials:MAILER        40 MAILER {{{{24.00 {currency}}}}}
;  Assets:Stamps:LETTER-STAMP     50 LETTER-STAMP {{{{39.00 {currency}}}}}
;  Liabilities:Suppliers      -63.00 {currency}

;; A bill that is a cost at once.
;{later} * "Web host" "The shop's site, one month"
;  Expenses:Office:Hosting     12.00 {currency}
;  Liabilities:Suppliers      -12.00 {currency}
"""


def workshop_file(shop: Shop) -> str:
    """Return the file of what happens without money moving: examples only."""
    days = [shop.first + datetime.timedelta(days=days) for days in (2, 6, 20)]
    return f"""\
;; What happens at the desk without money moving.

;; A print run: the good pieces. The bill of materials says what went into them.
;; `spoiled` are pieces that went wrong; `minutes` your time, which is no cost here.
;{days[0]} custom "print-run" 58 OWL-STK
;  spoiled: 2
;  minutes: 95

;; Pieces that left without a sale, and the account that bears what they had cost.
;{days[1]} custom "stock-out" 3 OWL-STK Expenses:Marketing:Giveaways

;; A count: what is on the shelf at the close of the day. The books follow the shelf.
;{days[2]} custom "stock-count" 55 OWL-STK
"""


def imports_file() -> str:
    """Return the file in which an import opens the accounts that are missing."""
    return """\
;; Accounts that `offcut import` used and the ledger did not open.
;;
;; The other files of this folder are made by offcut. They are yours: a text may be put
;; right in them. Keep the lines with source-id and lines-id, by which offcut knows what
;; is booked already.

"""
