"""Rules of tax jurisdictions, a file for each and each year."""
