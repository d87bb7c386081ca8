"""Whatever is wrong with an archive is found, all of it, at its exact place; and then nothing is loaded."""

from pathlib import Path

import pytest

from config import budgets
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from tests.costing.archive_faults import CASES, Case
from tests.costing.archive_sample import SAMPLE, cells, row_counts, write_archive

pytestmark = pytest.mark.django_db


def faults_of(path: Path) -> list[str]:
    """What is said of the archive at ``path``, after making sure that the book is as it was before."""
    before = row_counts()
    with pytest.raises(ArchiveRefused) as refused:
        load(path)
    assert row_counts() == before
    return [str(fault) for fault in refused.value.faults]


def place_of(fault: str) -> str:
    """The part ``file:line: column`` of a fault."""
    return ":".join(fault.split(":", 3)[:3])


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_one_fault_is_told_at_its_place_and_nothing_is_loaded(case: Case, tmp_path: Path) -> None:
    told = faults_of(write_archive(tmp_path / "archive", case.files))
    places = [place_of(fault) for fault in told]
    assert sorted(places) == sorted(case.faults), told
    for fault, place in zip(told, places, strict=True):
        assert case.faults[place] in fault.removeprefix(place)


def test_every_fault_is_told_in_the_order_of_files_and_lines(tmp_path: Path) -> None:
    files = cells(
        "costs.csv",
        {"amount": "x", "paid_on": "x"},
        {"registration": "QZ99ZZZ"},
        {"covers_from": "2025-01-01"},
    )
    files |= {"members.csv": SAMPLE["members.csv"].replace("PDI", "pdi")}
    files |= {"odometer.csv": SAMPLE["odometer.csv"].replace("48000", "1").replace(",12\n", ",\n")}
    told = faults_of(write_archive(tmp_path / "archive", files))
    assert [place_of(fault) for fault in told] == [
        "members.csv:3: grade",
        "odometer.csv:3: miles",
        "odometer.csv:4: miles",
        "costs.csv:2: paid_on",
        "costs.csv:2: amount",
        "costs.csv:3: registration",
        "costs.csv:5: covers_to",
    ]


def test_a_line_number_counts_the_lines_inside_quotation_marks(tmp_path: Path) -> None:
    files = cells("costs.csv", {}, {}, {}, {"amount": "?"})
    assert faults_of(write_archive(tmp_path / "archive", files))[0].startswith("costs.csv:6: amount: ")


def test_a_file_that_cannot_be_read_does_not_make_faults_in_others(tmp_path: Path) -> None:
    files = SAMPLE | {"cars.csv": SAMPLE["cars.csv"].replace(",", ";")}
    told = faults_of(write_archive(tmp_path / "archive", files))
    assert [fault.partition(": ")[0] for fault in told] == ["cars.csv:1"]


def test_a_row_with_one_bad_cell_does_not_make_faults_in_others(tmp_path: Path) -> None:
    told = faults_of(write_archive(tmp_path / "archive", cells("cars.csv", {"fuel": "coal"})))
    assert len(told) == 1


def test_a_fault_is_one_line_whatever_the_cell_says(tmp_path: Path) -> None:
    files = cells("costs.csv", {"category": "a\nb\x1b[31m\u2028" + "c" * 400})
    (told,) = faults_of(write_archive(tmp_path / "archive", files))
    assert told.isprintable()
    assert len(told) < 300


def test_of_very_many_faults_the_first_are_told_and_how_many_there_are(tmp_path: Path) -> None:
    rows = "".join(f"f{number},?,?,?,?,?,?,?\n" for number in range(600))
    header = "ref,registration,member_email,filled_on,odometer,quantity,unit,amount\n"
    with pytest.raises(ArchiveRefused) as refused:
        load(write_archive(tmp_path / "archive", SAMPLE | {"fills.csv": header + rows, "valuations.csv": "x\n"}))
    refusal = refused.value
    assert len(refusal.faults) == budgets.ARCHIVE_FAULTS
    # Seven of each row, and four of the other file: a column that is not known and three that are missing.
    assert refusal.more_count == 600 * 7 + 4 - budgets.ARCHIVE_FAULTS
    assert refusal.lines[-1] == "and 3,204 more"
    assert refusal.lines[0].startswith("fills.csv:2: registration: ")
