"""Draw statements: on a terminal, as a page, a workbook, CSV files."""
