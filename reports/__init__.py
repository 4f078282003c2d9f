"""Figures from the ledger: one table of order lines, and the reports grouped from it."""
