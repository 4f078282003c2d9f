"""Lead a figure back to the lines of the ledger that it comes from."""
