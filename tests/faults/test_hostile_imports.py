"""Files made against what members bring: each is answered with words, in little memory, and nothing is left behind."""

from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client

from costing.models import Batch, CostEntry
from fleet.models import Car
from tests.costing.bringing import on, save, send
from tests.costing.pages import text_of
from tests.faults.hostile_imports import FAULTY, HARMLESS, REFUSED

#: What one file may add to the process that answers. The one that reads a spreadsheet cannot take more than it may.
MORE_MEGABYTES = 120

pytestmark = pytest.mark.usefixtures("today")


def peak() -> int:
    """The most memory since it was last forgotten, in MB."""
    told = Path("/proc/self/status").read_text()
    return next(int(line.split()[1]) for line in told.splitlines() if line.startswith("VmHWM")) // 1024


def test_there_are_a_hundred_of_them() -> None:
    assert len(REFUSED) + len(FAULTY) + len(HARMLESS) >= 100


@pytest.mark.parametrize(("make", "words"), REFUSED.values(), ids=REFUSED)
def test_a_file_that_cannot_be_read_is_refused_with_a_sentence(
    make: Callable[[], bytes], words: str, everyone: dict[str, Client], car: Car
) -> None:
    content = make()
    forget = Path("/proc/self/clear_refs")
    if forget.exists():
        forget.write_text("5")
        before = peak()
    page = send(everyone["keeper"], content)
    assert page.status_code == 200
    assert words in text_of(page)
    assert "cells" not in on(page)
    if forget.exists():
        assert peak() - before < MORE_MEGABYTES


@pytest.mark.parametrize(("content", "words"), FAULTY.values(), ids=FAULTY)
def test_a_row_that_cannot_be_read_is_refused_with_row_and_column(
    content: bytes, words: str, everyone: dict[str, Client], car: Car
) -> None:
    page = send(everyone["keeper"], content)
    assert words in text_of(page)
    assert save(everyone["keeper"], page).status_code == 200
    save(everyone["keeper"], page, leave_out="on")
    assert not Batch.objects.exists()


@pytest.mark.parametrize("content", HARMLESS.values(), ids=HARMLESS)
def test_what_is_only_odd_is_words(content: bytes, everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], content)
    assert "<script>alert" not in page.content.decode()
    assert save(everyone["keeper"], page, leave_out="on").status_code in {200, 303}
    for cost in CostEntry.objects.all():
        assert cost.supplier.isprintable()
