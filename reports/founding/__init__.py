"""Found books: the files of a new ledger, each explained by its own remarks."""
