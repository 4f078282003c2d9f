"""Propose a layout for a file that none fits."""
