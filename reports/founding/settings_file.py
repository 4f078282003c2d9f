"""Write a new ledger's settings, and what git is to leave alone."""

from __future__ import annotations

from offcut.reports.founding.shop import Shop

GITIGNORE = """\
# What programs keep for themselves: it comes back by itself.
.*.picklecache
.offcut.lock
.*.offcut-unfinished
# The pages that `offcut month` writes: they can be written again.
pages/
"""


def settings_file(shop: Shop) -> str:
    """Return the text of `offcut.toml`.

    Args:
      shop: The shop.
    """
    channel = shop.channels[0]
    text = f"""\
## Settings of these books. The ledger says what happened; this file says how to read
## the files of others, and what the books cannot know. All of it is optional.
##
## A line that begins with ## is a remark; one with a single # is an example: take the
## # away, put your own words in, and it counts.

## What the texts of order files mean. A text is held against the whole of an item; * is
## any text, and capitals do not matter. `offcut items` asks, and adds to this list.
#[[items]]
#text = "Barn Owl*sticker*"
#product = "OWL-STK"

## What rows of the bank's file are, by their text: a bill that is in purchases.beancount
## already, or one that is a cost at once.
#[[bank]]
#text = "Paper supplier*"
#account = "Liabilities:Suppliers"
#[[bank]]
#text = "Bank charges*"
#account = "Expenses:Fees:Bank"

## How the orders of a channel are packed: a packing list of catalogue.beancount.
#[packing]
#{channel} = "letter"

## What the list at a month's end asks for.
[close]
## How often each item is counted, in months.
count-every-months = 12
## After how many days to ask for what is owed.
receivable-days = 30
"""
    if "Fair" in shop.channels:
        text += """
## Where the money of a fair goes, and what the cash box is short of or over.
[fair]
cash = "Assets:Cash"
cash-over-short = "Expenses:Events:CashOverShort"
"""
    if shop.rules is None:
        return (
            text
            + """
## Taxes: whose rules hold, and how you are taxed. `offcut tax` says what there is. An
## estimate, not advice: rules differ by place; ask a licensed accountant.
#[tax]
#jurisdiction = "us-federal"
#status = "single"
"""
        )
    return (
        text
        + f"""
## Taxes: {shop.rules.title}.
## An estimate, not advice: rules differ by place; ask a licensed accountant.
[tax]
jurisdiction = "{shop.rules.jurisdiction}"
## One of: {", ".join(shop.rules.statuses)}
status = "{shop.status}"
## Where money is set aside, where it is taken from, what payments are booked to.
reserve = "Assets:Bank:TaxReserve"
bank = "Assets:Bank:Checking"
payments = "Equity:Drawings:Tax"
"""
    )
