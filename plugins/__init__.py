"""What the words of a maker's ledger mean: the whole set of offcut's plugins.

    plugin "offcut.plugins"

is the same as

    plugin "offcut.plugins.catalogue"
    plugin "offcut.plugins.mileage"
    plugin "offcut.plugins.spelling"
    plugin "offcut.plugins.stock"
"""

from offcut.plugins.catalogue import check_catalogue
from offcut.plugins.mileage import check_mileage
from offcut.plugins.spelling import check_spelling
from offcut.plugins.stock import cost_stock

__plugins__ = (check_catalogue, check_mileage, check_spelling, cost_stock)
