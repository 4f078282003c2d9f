"""The mistakes that newcomers make: what is said names the place and what to do.

Each mistake is made in sound books of one month, and one command is run.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from offcut.reports.command import main

CATALOGUE = """\
2025-01-01 commodity OWL-STK
  name: "Barn Owl, 3 in sticker"
  stock: "product"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 custom "bill-of-materials" 6 OWL-STK 1 VINYL
"""
PURCHASES = """\
2025-01-03 * "Paper supplier" "White vinyl, 50 sheets"
  Assets:Materials:VINYL          50 VINYL {{22.50 USD}}
  Liabilities:Suppliers       -22.50 USD
"""
WORKSHOP = """\
2025-01-06 custom "print-run" 58 OWL-STK
  spoiled: 2
"""
ORDERS = """\
Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency
W1,2025-01-10,OWL-STK,2,4.00,0.00,2.50,0.00,USD
"""
PAYMENTS = """\
Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference
2025-01-10,Sale,W1,Web order,10.50,0.60,9.90,USD,ch_1
"""
RULE = '[[items]]\ntext = "OWL-STK"\nproduct = "OWL-STK"\n'


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Books of one month, in which `offcut check` finds no error."""
    folder = tmp_path_factory.mktemp("sound") / "books"
    first = ("--currency", "USD", "--first-day", "2025-01-01")
    assert run("new", folder, "--name", "Corner Press", *first).exit_code == 0
    for name, text in (
        ("catalogue", CATALOGUE),
        ("purchases", PURCHASES),
        ("workshop", WORKSHOP),
    ):
        with (folder / f"{name}.beancount").open("a") as file:
            file.write(f"\n{text}")
    with (folder / "offcut.toml").open("a") as file:
        file.write(f"\n{RULE}")
    (folder / "inbox" / "orders.csv").write_text(ORDERS)
    (folder / "inbox" / "card.csv").write_text(PAYMENTS)
    assert run("month", "2025-01", folder / "main.beancount").exit_code in (0, 3)
    checked = run("check", folder / "main.beancount")
    assert (checked.exit_code, checked.stderr) == (0, "")
    return folder


class Books:
    """A copy of sound books, to make a mistake in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.main = folder / "main.beancount"

    def write(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text)
        return path

    def append(self, name: str, text: str) -> int:
        """Add lines to a file; return the number of the first one."""
        path = self.folder / name
        before = path.read_text()
        path.write_text(f"{before}{text}")
        return before.count("\n") + 1

    def replace(self, name: str, old: str, new: str) -> None:
        path = self.folder / name
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new))

    def ledger(self) -> dict[Path, bytes]:
        return {path: path.read_bytes() for path in self.folder.rglob("*.beancount")}

    def refused(self, *command: str | Path) -> str:
        """Return the one line with which a command refuses; nothing may change."""
        before = self.ledger()
        result = run(*command)
        assert result.exit_code == 1, result.output
        assert result.stdout == ""
        assert result.stderr.count("\n") == 1, result.stderr
        assert "Traceback" not in result.stderr
        assert self.ledger() == before
        return result.stderr.removesuffix("\n")

    def error(self, name: str, line: int) -> str:
        """Return what `offcut profit` says of a line of the ledger; it goes on."""
        result = run("profit", self.main)
        assert result.exit_code == 3, result.output
        assert "Profit per design" in result.stdout
        place = f"{self.folder / name}:{line}: "
        said = [each for each in result.stderr.splitlines() if each.startswith(place)]
        assert said, result.stderr
        return said[0].removeprefix(place)

    def check(self) -> str:
        """Return what `offcut check` says, on one line."""
        result = run("check", self.main)
        assert result.stderr == ""
        return " ".join(result.stdout.split())


@pytest.fixture
def books(sound: Path, tmp_path: Path) -> Books:
    import shutil

    shutil.copytree(sound, tmp_path / "books")
    return Books(tmp_path / "books")


@pytest.mark.parametrize(
    "command",
    [
        ("check",),
        ("profit",),
        ("close", "2025-01"),
        ("month",),
        ("view",),
        ("tax", "2025"),
    ],
)
def test_wrong_folder(
    books: Books, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...]
) -> None:
    monkeypatch.chdir(books.folder.parent)
    monkeypatch.delenv("OFFCUT_LEDGER", raising=False)
    assert books.refused(*command) == (
        "Error: main.beancount: there is no such file; go to the folder of your books, or "
        "give their main file, perhaps books/main.beancount, or found books by `offcut new`"
    )


def test_wrong_folder_of_an_import(books: Books, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(books.folder.parent)
    monkeypatch.delenv("OFFCUT_LEDGER", raising=False)
    line = books.refused("import", "books/inbox/card.csv")
    assert line.startswith(f"{books.folder.parent / 'main.beancount'}: ")
    assert "give the path of the ledger's main file" in line
    assert sorted(path.name for path in books.folder.parent.iterdir()) == ["books"]


def test_folder_in_place_of_the_ledger(books: Books) -> None:
    assert books.refused("check", books.folder) == (
        f"Error: {books.folder}: this is a folder; give the main ledger file in it"
    )


def test_file_that_is_not_included(books: Books) -> None:
    books.replace("main.beancount", 'include "purchases.beancount"\n', "")
    said = books.check()
    assert "Not included purchases.beancount" in said
    assert said.endswith(
        "purchases.beancount does not belong to the books yet. If it should, write into "
        'main.beancount: include "purchases.beancount"'
    )


def test_file_that_was_moved(books: Books) -> None:
    (books.folder / "workshop.beancount").rename(books.folder / "shop.beancount")
    result = run("profit", books.main)
    assert result.exit_code == 3
    assert result.stderr.splitlines()[0].endswith(
        'File glob "workshop.beancount" does not match any files. The file was moved or '
        "renamed: correct its include line, or put it back"
    )
    assert 'include "shop.beancount"' in books.check()


def test_plugin_line_that_is_missing(books: Books) -> None:
    books.replace("main.beancount", '\nplugin "offcut.plugins"\n', "\n")
    result = run("profit", books.main)
    assert result.exit_code == 3
    first = result.stderr.splitlines()[0]
    assert first.endswith('Write plugin "offcut.plugins" at the top of main.beancount')
    assert books.check().endswith(
        "Nothing works out what the things you sell had cost. Write into main.beancount, "
        'above its include lines: plugin "offcut.plugins"'
    )


def test_plugin_line_in_a_file_where_it_does_not_count(books: Books) -> None:
    books.replace("main.beancount", '\nplugin "offcut.plugins"\n', "\n")
    line = books.append("purchases.beancount", '\nplugin "offcut.plugins"\n') + 1
    first = run("profit", books.main).stderr.splitlines()[0]
    assert first.endswith(
        'Write plugin "offcut.plugins" at the top of main.beancount; at '
        f"purchases.beancount:{line} it does not count"
    )
    assert f"OFF: the plugin line at purchases.beancount:{line} does not" in books.check()


def test_product_that_is_not_declared(books: Books) -> None:
    line = books.append("workshop.beancount", '2025-01-08 custom "print-run" 6 OWL-PRT\n')
    assert books.error("workshop.beancount", line).endswith(
        "is OWL-PRT, which is not in stock's catalogue (did you mean OWL-STK?). Declare "
        'it: commodity OWL-PRT with stock: "product"'
    )


def test_comma_before_decimals_in_the_ledger(books: Books) -> None:
    line = books.append(
        "purchases.beancount",
        '2025-02-02 * "Bill"\n  Expenses:Software  9,50 USD\n  Liabilities:Suppliers\n',
    )
    assert books.error("purchases.beancount", line + 1) == (
        "ValueError: Invalid number format: '9,50'. A number has a point before its "
        "decimals: 9.50, or 1,234.50"
    )


def test_comma_before_decimals_in_a_file(books: Books) -> None:
    file = books.write("x.csv", PAYMENTS.replace("10.50", '"10,50"').replace("W1", "W9"))
    assert books.refused("import", file, "--into", books.main) == (
        "x.csv: row 2, column Gross: expected a number such as 1,234.50, found '10,50'; "
        "correct the row or the layout's [forms] locale, nothing was imported"
    )


def test_file_twice(books: Books) -> None:
    before = books.ledger()
    copy = books.write("copy of card (1).csv", PAYMENTS)
    result = run("import", copy, "--into", books.main)
    assert result.exit_code == 0
    assert "1 row = 0 booked + 1 already in the ledger + 0 left out" in result.stdout
    assert "Nothing new: the ledger has all of it already." in result.stdout
    assert books.ledger() == before


def test_account_that_is_misspelt(books: Books) -> None:
    line = books.append(
        "purchases.beancount",
        '2025-02-02 * "Bill"\n  Expenses:Sofware  9.50 USD\n  Liabilities:Suppliers\n',
    )
    assert books.error("purchases.beancount", line) == (
        "Invalid reference to unknown account 'Expenses:Sofware'. Correct the name (did "
        "you mean Expenses:Software?), or open the account: 2025-02-02 open "
        "Expenses:Sofware"
    )


def test_account_before_it_is_opened(books: Books) -> None:
    line = books.append(
        "purchases.beancount",
        '2015-02-02 * "Bill"\n  Expenses:Software  9.50 USD\n  Liabilities:Suppliers\n',
    )
    # One of both accounts is told of first, as it happens.
    said = books.error("purchases.beancount", line)
    accounts = "(Expenses:Software|Liabilities:Suppliers)"
    assert re.fullmatch(
        rf"Invalid reference to inactive account '{accounts}'\. Correct the date, or that "
        "of the account, which is opened on 2024-12-31",
        said,
    )


def test_account_that_is_opened_twice(books: Books) -> None:
    line = books.append("accounts.beancount", "2025-01-01 open Assets:Cash\n")
    text = (books.folder / "accounts.beancount").read_text().splitlines()
    first = text.index("2024-12-31 open Assets:Cash USD") + 1
    assert books.error("accounts.beancount", line) == (
        "Duplicate open directive for Assets:Cash. It is opened at "
        f"accounts.beancount:{first} already; take one of the two lines out"
    )


def test_currency_that_is_missing(books: Books) -> None:
    line = books.append(
        "purchases.beancount",
        '2025-02-02 * "Bill"\n  Expenses:Software  9.50\n  Liabilities:Suppliers\n',
    )
    assert books.error("purchases.beancount", line + 1) == (
        "Failed to categorize posting 1. An amount and a cost need their currency: "
        "9.50 USD, {0.45 USD}"
    )


@pytest.mark.parametrize("date", ["02.02.2025", "2/2/2025", "02-02-2025"])
def test_date_in_another_order(books: Books, date: str) -> None:
    line = books.append(
        "purchases.beancount",
        f'{date} * "Bill"\n  Expenses:Software  9.50 USD\n  Liabilities:Suppliers\n',
    )
    assert books.error("purchases.beancount", line).endswith(
        "A date is written as year, month, day: 2025-01-31"
    )


def test_line_that_is_no_ledger_line(books: Books) -> None:
    line = books.append("purchases.beancount", "Bought paper for 9.50\n")
    assert "dates are 2025-01-31, amounts 1234.50 USD" in books.error(
        "purchases.beancount", line
    )


def test_amounts_that_do_not_add_up(books: Books) -> None:
    line = books.append(
        "purchases.beancount",
        '2025-02-02 * "Bill"\n  Expenses:Software  9.50 USD\n'
        "  Liabilities:Suppliers  -9.05 USD\n",
    )
    assert books.error("purchases.beancount", line) == (
        "Transaction does not balance: (0.45 USD). Its amounts have to add up to zero; "
        "what goes out is negative"
    )


def test_date_in_another_form_in_a_file(books: Books) -> None:
    file = books.write("x.csv", PAYMENTS.replace("2025-01-10", "10.01.2025"))
    line = books.refused("import", file, "--into", books.main)
    assert line.startswith(
        "x.csv: row 2, column Date: expected a date such as 2025-03-31, "
    )
    assert "found '10.01.2025'; correct the row or the layout's [forms] date" in line


@pytest.mark.parametrize(
    ("command", "found"),
    [
        (("month", "2025-13"), "MONTH: expected a month such as 2025-03, found '2025-13'"),
        (("month", "2025-1"), "MONTH: expected a month such as 2025-03, found '2025-1'"),
        (("month", "March"), "expected a month such as 2025-03, or the main file of a led"),
        (("close", "03-2025"), "MONTH: expected a month such as 2025-03, found '03-2025'"),
        (
            ("profit", "--month", "2025-3"),
            "--month: expected a month such as 2025-03, found",
        ),
    ],
)
def test_month_that_is_none(books: Books, command: tuple[str, ...], found: str) -> None:
    result = run(*command)
    assert result.exit_code == 2
    assert found in result.stderr


def test_file_that_another_program_has_open(
    books: Books, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a spreadsheet does under Windows, where opening it raises this."""
    file = books.folder / "inbox" / "card.csv"
    opened = Path.open

    def locked(path: Path, *arguments: object, **options: object) -> object:
        if path == file:
            raise PermissionError(13, "Permission denied", str(path))
        return opened(path, *arguments, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "open", locked)
    assert books.refused("import", file, "--into", books.main) == (
        "card.csv: the file cannot be read (Permission denied); close it in other "
        "programs, or change its permissions, nothing was imported"
    )


def test_spreadsheet_in_place_of_csv(books: Books) -> None:
    import xlsxwriter

    path = books.folder / "card.xlsx"
    with xlsxwriter.Workbook(str(path)) as workbook:
        workbook.add_worksheet().write(0, 0, "Date")
    for command in (("import", path, "--into", books.main), ("layout", path)):
        line = books.refused(*command)
        assert line.startswith("card.xlsx: expected a CSV file, found a zip archive or a")
        assert "or save it as CSV" in line


def test_encoding_that_is_another_one(books: Books) -> None:
    file = books.folder / "x.csv"
    file.write_bytes(PAYMENTS.replace("Web order", "M\xf6we").encode("latin-1"))
    line = books.refused("import", file, "--into", books.main)
    assert line.startswith("x.csv: row 2: expected text in utf-8, found the byte 0xf6")
    assert "name the file's encoding in the layout's [file] encoding" in line


def test_encoding_of_the_ledger_that_is_another_one(books: Books) -> None:
    books.main.write_bytes(books.main.read_bytes() + "; M\xf6we\n".encode("latin-1"))
    assert books.refused("check", books.main).endswith(
        "is not UTF-8 text; a ledger is a plain-text file saved as UTF-8"
    )


def test_print_run_before_its_material_was_bought(books: Books) -> None:
    line = books.append("workshop.beancount", '2025-01-02 custom "print-run" 12 OWL-STK\n')
    assert books.error("workshop.beancount", line).startswith(
        "VINYL: 2 went out on 2025-01-02 but the shelf had only 0, 2 short. Record the "
        "print run or purchase on that day or before"
    )


def test_count_of_an_unknown_product(books: Books) -> None:
    line = books.append("workshop.beancount", '2025-02-02 custom "stock-count" 9 OWL-STC\n')
    assert books.error("workshop.beancount", line).startswith(
        "What is counted is OWL-STC, which is not in stock's catalogue (did you mean "
        "OWL-STK?)"
    )


@pytest.mark.parametrize(
    ("name", "text", "after", "near"),
    [
        (
            "catalogue.beancount",
            '2025-01-01 commodity OWL-PRT\n  stok: "product"\n',
            0,
            '"stok" is no word of offcut\'s; did you mean stock?',
        ),
        (
            "catalogue.beancount",
            '2025-01-01 commodity OWL-PRT\n  stock: "produkt"\n',
            0,
            'write stock: "product", "material" or "stamp" (did you mean product?)',
        ),
        (
            "purchases.beancount",
            '2025-02-02 * "Sale"\n  Assets:Cash  4.00 USD\n  Income:Sales:Web\n'
            '    itm: "OWL-STK"\n    quantity: 1\n',
            2,
            '"itm" is no word of offcut\'s; did you mean item?',
        ),
        (
            "workshop.beancount",
            '2025-02-02 custom "print-run" 6 OWL-STK\n  spoilt: 2\n',
            0,
            '"spoilt" is no word of offcut\'s; did you mean spoiled?',
        ),
        (
            "workshop.beancount",
            '2025-02-02 custom "printrun" 6 OWL-STK\n',
            0,
            'custom "printrun" does nothing; did you mean custom "print-run"?',
        ),
    ],
)
def test_word_that_is_misspelt(
    books: Books, name: str, text: str, after: int, near: str
) -> None:
    line = books.append(name, text) + after
    assert near in books.error(name, line)


def test_no_settings(books: Books) -> None:
    (books.folder / "offcut.toml").unlink()
    assert "Settings no offcut.toml beside the ledger" in books.check()
    result = run("tax", "2025", books.main)
    assert result.exit_code == 1
    assert result.stderr.startswith(
        "offcut.toml has no [tax], so it is not known whose rules hold and who is taxed. "
        "Write it there, beside the ledger"
    )


def test_settings_with_a_mistake(books: Books) -> None:
    line = books.append("offcut.toml", "text = Paper\n")
    said = f"offcut.toml: expected TOML in utf-8: Invalid value (at line {line}, column 8)"
    assert books.refused("month", "2025-01", books.main).startswith(said)
    assert said in books.check()
    books.replace("offcut.toml", "text = Paper\n", "[clse]\n")
    assert "did you mean close?" in books.refused("month", "2025-01", books.main)


def test_empty_file(books: Books) -> None:
    file = books.write("x.csv", "")
    assert books.refused("import", file, "--into", books.main) == (
        "x.csv: the file is empty, expected a header and rows; export it again, nothing "
        "was imported"
    )


def test_heading_row_that_changed(books: Books) -> None:
    file = books.write("x.csv", PAYMENTS.replace("Gross", "Total"))
    assert books.refused("import", file, "--into", books.main) == (
        "x.csv: row 1, column Gross: expected the columns of card-payments, which is "
        "nearest, but there is no Gross; export the file again, or choose another by "
        "--layout, nothing was imported"
    )


def test_file_that_no_layout_knows(books: Books) -> None:
    file = books.write("x.csv", "When,What,Sum\n2025-01-01,x,1.00\n")
    assert books.refused("import", file, "--into", books.main) == (
        "x.csv: row 1: no layout knows these columns: When, What, Sum; have a layout "
        "proposed by `offcut layout FILE`, then import again, nothing was imported"
    )


def test_file_that_is_not_there(books: Books) -> None:
    file = books.folder / "nothere.csv"
    assert books.refused("import", file, "--into", books.main) == (
        "nothere.csv: the file cannot be read (No such file or directory); give the path "
        "of a CSV file, nothing was imported"
    )


def test_inbox_with_a_file_that_cannot_be_imported(books: Books) -> None:
    """The others are imported all the same, and the list says which row is wrong."""
    more = PAYMENTS.replace("W1", "W2").replace("ch_1", "ch_2")
    books.write("inbox/more.csv", more)
    books.write("inbox/bad.csv", PAYMENTS.replace("10.50", "ten").replace("ch_1", "ch_3"))
    result = run("month", "2025-01", books.main)
    assert result.exit_code == 3
    assert "NOT IMPORTED: bad.csv: row 2, column Gross: expected a number" in result.stdout
    assert "more.csv" in result.stdout
    assert "ch_2" in (books.folder / "imports" / "card-2025-01.beancount").read_text()


def test_misspelt_command() -> None:
    result = run("chek")
    assert result.exit_code == 2
    assert "No such command 'chek'" in result.stderr


def test_nothing_is_swallowed_at_the_end_of_a_pipe(books: Books) -> None:
    """`offcut profit | head -1`: the reader goes away, and no traceback is left."""
    code = "from offcut.reports.command import main; main(prog_name='offcut')"
    process = subprocess.Popen(
        [sys.executable, "-c", code, "profit", str(books.main), "--detail"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    process.wait(timeout=60)
    assert said == b""
