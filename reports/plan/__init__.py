"""Decide what to print, how many, at which price, at home or by a manufacturer."""
