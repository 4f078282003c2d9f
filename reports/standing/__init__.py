"""How the books stand: what is in them, what was done last, and what to do next."""
