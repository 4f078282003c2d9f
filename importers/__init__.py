"""Turn files from outside, payments and order lines, into ledger entries."""
