"""One design or product: what it earned, and how it was made and lies in stock."""
