"""Move into books from a spreadsheet: sheets that are filled in once, and booked."""
