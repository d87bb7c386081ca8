"""Files made against what members bring: each is answered with words, in little memory, and nothing is left behind.

Each group of files is one test, because it takes longer to make the cast than to read a file.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.test import Client

from config import budgets
from costing.importing.readers.camt import read_camt
from costing.importing.readers.opening import open_file
from costing.importing.readers.refused import Refused
from costing.models import Batch, CostEntry
from fleet.models import Car
from tests.costing.bringing import on, save, send
from tests.costing.pages import text_of
from tests.faults.hostile_imports import FAULTY, HARMLESS, REFUSED, SHEET, camt, changed, entry, with_cells

#: What one file may add to the process that answers. The one that reads a spreadsheet cannot take more than it may.
MORE_MEGABYTES = 120
_FORGET = Path("/proc/self/clear_refs")

pytestmark = pytest.mark.usefixtures("today")


def peak() -> int:
    """The most memory since it was last forgotten, in MB."""
    told = Path("/proc/self/status").read_text()
    return next(int(line.split()[1]) for line in told.splitlines() if line.startswith("VmHWM")) // 1024


@contextmanager
def in_little_memory(name: str, most: int = MORE_MEGABYTES) -> Iterator[None]:
    if not _FORGET.exists():
        yield
        return
    _FORGET.write_text("5")
    before = peak()
    yield
    assert peak() - before < most, name


def test_there_are_a_hundred_of_them() -> None:
    assert len(REFUSED) + len(FAULTY) + len(HARMLESS) >= 100


def test_a_file_that_cannot_be_read_is_refused_with_a_sentence(everyone: dict[str, Client], car: Car) -> None:
    for name, (make, words) in REFUSED.items():
        content = make()
        with in_little_memory(name):
            page = send(everyone["keeper"], content)
        assert page.status_code == 200, name
        assert words in text_of(page), name
        assert "cells" not in on(page), name


def test_one_long_word_in_every_cell_takes_no_memory_of_ours() -> None:
    """A spreadsheet names it so many times in a few kilobytes; what reads it stops before it sends it all."""
    cell = f'<c t="inlineStr"><is><t>{"x" * 350}</t></is></c>'
    content = changed(SHEET, with_cells(f"<row>{cell * 60}</row>" * 2_000))
    assert len(content) < 300_000
    with in_little_memory("one long word", most=30), pytest.raises(Refused, match="too much in this file"):
        open_file(content)


def test_notes_without_end_in_a_statement_are_not_joined_without_end() -> None:
    """Each joined anew with all before it took seconds, in the process that answers everybody."""
    details = f"<NtryDtls><TxDtls><RmtInf>{'<Ustrd>note</Ustrd>' * 9_000}</RmtInf></TxDtls></NtryDtls>"
    content = camt(entry(about="").replace("</Ntry>", f"{details}</Ntry>"))
    assert len(read_camt(content).lines[1].cells[2]) == budgets.IMPORT_CELL_CHARACTERS
    assert len(open_file(content).lines) == 2, "its end is no reason to refuse the statement"


def test_a_row_that_cannot_be_read_is_refused_with_row_and_column(everyone: dict[str, Client], car: Car) -> None:
    for name, (content, words) in FAULTY.items():
        page = send(everyone["keeper"], content)
        assert words in text_of(page), name
        assert save(everyone["keeper"], page).status_code == 200, name
        save(everyone["keeper"], page, leave_out="on")
        assert not Batch.objects.exists(), name


def test_what_is_only_odd_is_words(everyone: dict[str, Client], car: Car) -> None:
    for name, content in HARMLESS.items():
        page = send(everyone["keeper"], content)
        assert "<script>alert" not in page.content.decode(), name
        assert save(everyone["keeper"], page, leave_out="on").status_code in {200, 303}, name
        CostEntry.objects.update(amount=1)  # so that the next does not look like it
    assert CostEntry.objects.count() > 3
    assert all(cost.supplier.isprintable() for cost in CostEntry.objects.all())
