"""Write the ledger's main file and its settings: the two that stand for themselves."""

from __future__ import annotations

from making import shop

MAIN = """\
; Moth & Lantern Prints: the books of an invented maker of prints and stickers, who
; draws, prints, packs and posts everything alone. Nobody and nothing in them is real.
;
;   main.beancount         this file: options, accounts, and what belongs to the books
;   catalogue.beancount    products, materials, bills of materials, packing lists
;   workshop.beancount     print runs, counts, giveaways
;   purchases.beancount    sheets, paper, ink, packaging, stamps
;   fairs.beancount        four fairs, their costs and their sales
;   wholesale.beancount    one shop that buys at half price
;   commissions.beancount  pieces drawn for one customer
;   afterwards.beancount   tracking and pieces that came back
;   bank.beancount         payouts, taxes, drawings, other bills
;   trips.beancount        miles in my own car
;   receipts.beancount     the bills that I kept, in receipts/
;   imports/               what `offcut import` made of the files of each month
;   exports/               those files, as they were downloaded
;   inbox/                 last month's files, waiting to be imported
;   offcut.toml            what item texts mean, and how orders are packed
;
; `python make_example.py` makes all of it anew.

option "title" "Moth & Lantern Prints"
option "operating_currency" "USD"

plugin "offcut.plugins"

include "catalogue.beancount"
include "workshop.beancount"
include "purchases.beancount"
include "fairs.beancount"
include "wholesale.beancount"
include "commissions.beancount"
include "afterwards.beancount"
include "bank.beancount"
include "trips.beancount"
include "receipts.beancount"
include "imports/*.beancount"

; ---- What the shop has
; (materials and stamps: catalogue.beancount; shelves of products open by themselves)

2024-11-01 open Assets:Bank:Checking                   USD
2024-11-01 open Assets:Bank:TaxReserve                 USD
2024-11-01 open Assets:Cash                            USD
; Money that others hold until they pay it out
2024-11-01 open Assets:Clearing:Card                   USD
2024-11-01 open Assets:Clearing:Market                 USD
2024-11-01 open Assets:Clearing:Reader                 USD
2024-11-01 open Assets:Clearing:Payouts                USD
; Orders whose payment has not come yet
2024-11-01 open Assets:Receivable:Market               USD
2024-11-01 open Assets:Receivable:Wholesale            USD
; Lasts for years: here at what it cost, and for tax as each purchase says
2024-11-01 open Assets:Equipment:Printer               USD

; ---- What it owes

; Collected for the tax office: never the shop's own money
2024-11-01 open Liabilities:SalesTax                   USD
2024-11-01 open Liabilities:Deposits                   USD

; ---- What is the owner's

2024-11-01 open Equity:Capital                         USD
2024-11-01 open Equity:Drawings                        USD
2024-11-01 open Equity:Drawings:Tax                    USD

; ---- What it earns: the third part of the name is the channel

2024-11-01 open Income:Sales:Web                       USD
2024-11-01 open Income:Sales:Market                    USD
2024-11-01 open Income:Sales:Fair                      USD
2024-11-01 open Income:Sales:Wholesale                 USD
2024-11-01 open Income:Sales:Commission                USD
2024-11-01 open Income:GiftWrap:Web                    USD
; Postage charged to buyers
2024-11-01 open Income:Shipping:Web                    USD
2024-11-01 open Income:Shipping:Market                 USD
; Taken off again: these stand on the debit side
2024-11-01 open Income:Discounts:Web                   USD
2024-11-01 open Income:Refunds:Web                     USD
2024-11-01 open Income:Refunds:Market                  USD
; Sold, but nobody knows yet what it was
2024-11-01 open Income:Suspense:Web                    USD

; ---- What it spends
; (cost of goods, spoilage, packaging, stamps: opened by the stock plugin as they occur)

2024-11-01 open Expenses:COGS:Commissions              USD
2024-11-01 open Expenses:Fees:Card                     USD
2024-11-01 open Expenses:Fees:Market                   USD
2024-11-01 open Expenses:Fees:Reader                   USD
2024-11-01 open Expenses:Postage:Labels                USD
2024-11-01 open Expenses:Postage:Tracking              USD
2024-11-01 open Expenses:Events:TableFees              USD
2024-11-01 open Expenses:Events:Travel                 USD
; Spread over the pieces that came in: nothing stays here
2024-11-01 open Expenses:Inbound:Freight               USD
2024-11-01 open Expenses:Inbound:SetUp                 USD
2024-11-01 open Expenses:Marketing:Advertising         USD
2024-11-01 open Expenses:Marketing:Giveaways           USD
2024-11-01 open Expenses:Marketing:Samples             USD
2024-11-01 open Expenses:Equipment:Cutter              USD
2024-11-01 open Expenses:Office:Hosting                USD
2024-11-01 open Expenses:Office:Insurance              USD
"""

SETTINGS = """\
# Settings of Moth & Lantern Prints. The ledger says what happened; this file says how to
# read the files of others, and what the books cannot know.

# How a channel's orders are packed: the packing lists are in catalogue.beancount.
[packing]
"""

CLOSE = """\

# I count the shelf twice a year.
[close]
count-every-months = 6
"""

TAX = """\

# Whose tax rules hold, and what they ask for besides the books.
[tax]
jurisdiction = "us-federal"
status = "single"
reserve = "Assets:Bank:TaxReserve"
bank = "Assets:Bank:Checking"
payments = "Equity:Drawings:Tax"

# For the form's part on vehicles.
[tax.mileage]
placed-in-service = 2022-03-12

[tax.years.2025]
last-year-tax = 560
last-year-income = 21_400

[tax.years.2026]
last-year-tax = 1_626
last-year-income = 10_690
"""

RULES = """\

# What item texts mean. A pattern is held against the whole text; * is any text, and
# capitals do not matter. The first that fits wins; what none fits goes to suspense and
# is listed after each import.
"""


def settings_text() -> str:
    """Return offcut.toml."""
    packing = "".join(f'{name} = "{used}"\n' for name, used in shop.PACKED_AS.items())
    rules = [
        f'[[items]]\ntext = "{shop.rule_pattern(product)}"\nproduct = "{product.code}"\n'
        for product in shop.PRODUCTS
    ]
    rules.append(
        f'# No product, but an income.\n[[items]]\ntext = "{shop.GIFT_WRAP}"\n'
        'account = "Income:GiftWrap:Web"\n'
    )
    return SETTINGS + packing + CLOSE + TAX + RULES + "\n" + "\n".join(rules)
