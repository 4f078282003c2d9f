"""Commands beside the import that are killed leave books that load, and end as others do.

`offcut items`, `offcut fair` and `offcut layout` are killed by SIGKILL: before each change
of a name, and at any moment. Done once more, they end in the files of an undisturbed one,
byte for byte, with nothing left beside them. The import's own kills are in
`test_write_safety`.
"""

from __future__ import annotations

import datetime
import random
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from offcut.importers.fair.day import book_fair
from offcut.importers.fair.papers import FairPapers
from offcut.importers.layout import read_layout
from offcut.importers.learning.answers import learn
from offcut.importers.problems import ImportRefused
from offcut.importers.proposal.proposing import (
    Wishes,
    layout_path,
    propose_file,
    with_ledger,
    write_layout,
)
from offcut.importers.settings import FILE
from tests.importers.generated_month import write_month
from tests.importers.killing import CHANGES, killed_at_call, killed_at_moment, put_back
from tests.importers.shop import SETTINGS, Shop, new_shop

COMMANDS = ("items", "fair", "layout")
DAY = datetime.date(2026, 6, 14)
READER = """
[layouts.reader]
kind = "payments"
source = "reader"
channel = "Web"
currency = "USD"
[layouts.reader.columns]
date = "Day"
type = "What"
gross = "Taken"
fee = "Cost"
tip = "Tip"
id = "Number"
[layouts.reader.types]
sale = ["sold"]
"""
ANSWERS = (
    "Unheard of=MOTH-STK",
    "Heron sticker, 2 in=HERON-STK",
    "Ribbon=Income:Extras:Web",
)
STRANGE = (
    "Datum;Bestell-Nr.;Brutto;Gebühr;Netto\n31. März 2025;W1;5,00;0,30;4,70\n"
    "1. April 2025;W2;6,00;0,30;5,70\n"
)


class Job(NamedTuple):
    """A shop, and what a command is to do in it.

    Attributes:
      shop: The shop.
      work: Does it; done again it changes nothing.
      before: The files before.
      after: The files after, undisturbed.
    """

    shop: Shop
    work: Callable[[], object]
    before: dict[str, bytes]
    after: dict[str, bytes]


def items_job(folder: Path) -> tuple[Shop, Callable[[], object]]:
    """Return a shop of two months with texts that wait, and their answers."""
    shop = new_shop(folder)
    for month in ("2025-03", "2025-04"):
        files = write_month(folder.parent, month, 8)
        rows = (
            f"X{month},{month}-09,{text},1,4.00,0,0,0,USD" for text in ("Ribbon", "Bow")
        )
        shop.run(*files, shop.orders(*rows, name=f"{month}.csv"))
    return shop, lambda: learn(shop.ledger, ANSWERS)


def fair_job(folder: Path) -> tuple[Shop, Callable[[], object]]:
    """Return a shop and a day of a fair, of whose card payments one is imported before."""
    shop = new_shop(folder, settings=SETTINGS + READER)
    head, first = "Day,What,Taken,Cost,Tip,Number", "2026-06-14,sold,49.00,1.10,4.00,r1"
    shop.run(shop.file("some.csv", head, first))
    sheet = shop.file(
        "tally.csv", "Sold,Count,Price,Reduced by", "Heron,14,4.00,", "Owl,51,4.00,1.00"
    )
    card = shop.file("reader.csv", head, first, "2026-06-14,sold,50.00,1.20,0.00,r2")
    papers = FairPapers("harbour-fair-2026", sheet, DAY, "212.50", "50.00", card)
    return shop, lambda: book_fair(papers, shop.ledger)


def layout_job(folder: Path) -> tuple[Shop, Callable[[], object]]:
    """Return a shop and a file that no layout knows."""
    shop = new_shop(folder)
    file = shop.file("kasse.csv", *STRANGE.splitlines())

    def work() -> None:
        wishes = with_ledger(Wishes(channel="Web", currency="EUR"), shop.ledger)
        found = propose_file(file, wishes, {}, shop.ledger)
        try:
            write_layout(found.text, layout_path(shop.ledger, found.name), shop.ledger)
        except ImportRefused as refused:
            if "the file is there already" not in str(refused):
                raise

    return shop, work


MAKE = {"items": items_job, "fair": fair_job, "layout": layout_job}


@pytest.fixture(params=COMMANDS)
def job(request: pytest.FixtureRequest, tmp_path: Path) -> Job:
    shop, work = MAKE[request.param](tmp_path / "shop")
    before = shop.contents()
    work()
    after = shop.contents()
    assert after != before
    check_sound(shop)
    return Job(shop, work, before, after)


@pytest.mark.parametrize("folder", ["", "elsewhere"])
def test_a_layout_that_was_not_finished_elsewhere_is_cleared(
    tmp_path: Path, folder: str
) -> None:
    (tmp_path / folder).mkdir(exist_ok=True)
    path = tmp_path / folder / "my[1].toml"
    unfinished = path.with_name(f".{path.name}.0123abcd.offcut-unfinished")
    other = path.with_name(".other.toml.0123abcd.offcut-unfinished")
    unfinished.write_text("half")
    other.write_text("half, and of another run that may be at it")

    write_layout("a = 1\n", path)

    assert (path.read_text(), unfinished.exists(), other.exists()) == (
        "a = 1\n",
        False,
        True,
    )


def check_sound(shop: Shop) -> None:
    """Check that ledger, settings and layouts can be read."""
    assert shop.transactions() or not (shop.folder / "imports").exists()
    tomllib.loads((shop.folder / FILE).read_text("utf-8"))
    for path in (shop.folder / "layouts").glob("*.toml"):
        read_layout(path)


def check_made_good(job: Job) -> None:
    """Check that what was killed left sound files, and that the next run ends the same."""
    check_sound(job.shop)
    for name, contents in job.before.items():
        assert (job.shop.folder / name).read_bytes().startswith(contents), name
    job.work()
    assert job.shop.contents() == job.after
    job.work()
    assert job.shop.contents() == job.after


@pytest.mark.parametrize(
    "calls", [CHANGES, pytest.param((*CHANGES, "open"), marks=pytest.mark.slow)]
)
def test_killed_before_any_change_of_a_name(job: Job, calls: tuple[str, ...]) -> None:
    put_back(job.shop.folder, job.before)
    steps = 0
    while killed_at_call(job.work, job.shop.folder, steps, calls):
        check_made_good(job)
        put_back(job.shop.folder, job.before)
        steps += 1

    # Each file is put in its place, at least.
    assert steps >= len([n for n in job.after if job.before.get(n) != job.after[n]])


@pytest.mark.parametrize("kills", [4, pytest.param(200, marks=pytest.mark.slow)])
def test_killed_at_any_moment(job: Job, kills: int) -> None:
    draw = random.Random(kills)
    put_back(job.shop.folder, job.before)
    begin = time.perf_counter()
    job.work()
    takes = time.perf_counter() - begin
    killed = 0
    for _ in range(kills):
        put_back(job.shop.folder, job.before)
        killed += killed_at_moment(job.work, takes, draw)
        check_made_good(job)

    assert killed > kills // 3
