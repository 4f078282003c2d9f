"""Match the rows of a bank's statement with what they meet, and book them."""
