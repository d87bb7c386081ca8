"""load_archive and dump_archive as people and scripts run them: what they print, and how they leave."""

import io
import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from config.commands import DataSaysNo
from costing.archive.dumping import dump
from costing.archive.tables import TABLES
from costing.queries import closed_months, first_month_to_close
from instructors.models import Member
from instructors.queries import cooperative
from tests.costing.archive_sample import SAMPLE, cells, write_archive
from tests.processes import ROOT, environment

#: Those of the sample, which has no receipts: their pictures are made, in test_archive_receipts.py.
FILES = [table.file for table in TABLES if table.file in SAMPLE]
COUNTS = dict(zip(FILES, (1, 3, 2, 3, 3, 2, 4, 3, 2, 3, 4, 2, 1, 4, 2, 3, 3, 14, 3, 3, 8, 3), strict=True))


def called(*arguments: str) -> str:
    out = io.StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


def started(*arguments: str) -> subprocess.Popen[str]:
    """A real ``manage.py`` on the test's database."""
    return subprocess.Popen(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def run(*arguments: str) -> tuple[int, str, str]:
    """The same to its end: exit status, standard output and standard error."""
    process = started(*arguments)
    output, errors = process.communicate(timeout=300)
    return process.returncode, output, errors


@pytest.mark.django_db
def test_loading_prints_one_json_object(tmp_path: Path) -> None:
    folder = str(write_archive(tmp_path / "archive"))
    nothing = dict.fromkeys(FILES, 0)
    assert json.loads(called("load_archive", folder, "--json")) == {
        "loaded": COUNTS,
        "already_known": nothing,
    }
    assert json.loads(called("load_archive", folder, "--json")) == {
        "loaded": nothing,
        "already_known": COUNTS,
    }


@pytest.mark.django_db
def test_loading_prints_a_table_for_a_person(tmp_path: Path) -> None:
    files = SAMPLE | {"dues.csv": "", "completions.csv": ""}
    lines = called("load_archive", str(write_archive(tmp_path / "archive", files))).splitlines()
    assert lines[0].split() == ["File", "Rows", "added", "Known", "already"]
    assert [line.split() for line in lines if line.startswith("costs")] == [["costs.csv", "4", "0"]]
    assert lines[-1] == "Due items added from the cover of costs: 1"


@pytest.mark.django_db
def test_dumping_prints_one_json_object(tmp_path: Path) -> None:
    call_command("load_archive", str(write_archive(tmp_path / "archive")), stdout=io.StringIO())
    path = str(tmp_path / "book.zip")
    assert json.loads(called("dump_archive", path, "--json")) == {"path": path, "rows": COUNTS}
    assert "Written to" in called("dump_archive", path)


@pytest.mark.django_db
def test_dumping_one_member_takes_their_address_in_any_case(tmp_path: Path) -> None:
    call_command("load_archive", str(write_archive(tmp_path / "archive")), stdout=io.StringIO())
    made = json.loads(called("dump_archive", str(tmp_path / "own"), "--member", "BO@Book.example", "--json"))
    rows = COUNTS | {
        "members.csv": 1,
        "cars.csv": 2,  # their own and the one they had on loan
        "keepers.csv": 1,
        "odometer.csv": 1,
        "repeats.csv": 1,
        "costs.csv": 1,
        "fills.csv": 1,
        "teaching.csv": 1,
        "takings.csv": 1,
        "dues.csv": 0,
        "agreements.csv": 1,
        "valuations.csv": 0,
        "checks.csv": 1,
        "defects.csv": 1,
        "defect_steps.csv": 1,
        "treads.csv": 1,
        "completions.csv": 2,
    }
    # A later file is there only if it has rows, and what the group is told only in the co-op's own archive.
    without = {"tyre_moves.csv", "confirmations.csv", "closings.csv"}
    assert made["rows"] == {name: count for name, count in rows.items() if name not in without}
    assert "ann@" not in "".join(file.read_text() for file in (tmp_path / "own").iterdir())


@pytest.mark.django_db
def test_a_member_nobody_knows_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(DataSaysNo, match="no member with the e-mail address"):
        call_command("dump_archive", str(tmp_path / "own"), "--member", "nobody@book.example")
    assert not list(tmp_path.iterdir())


@pytest.mark.django_db
def test_a_path_that_is_another_sort_of_file_is_wrong_use(tmp_path: Path) -> None:
    (tmp_path / "words.txt").write_text("words")
    with pytest.raises(CommandError) as refused:
        call_command("dump_archive", str(tmp_path / "words.txt"))
    assert refused.value.returncode == 2


@pytest.mark.django_db
def test_a_place_that_cannot_be_written_is_told_without_leaving_bits_behind(tmp_path: Path) -> None:
    (tmp_path / "cars.csv").mkdir()
    with pytest.raises(DataSaysNo, match="cannot be written: Is a directory"):
        call_command("dump_archive", str(tmp_path))
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


@pytest.mark.django_db
def test_other_files_of_the_folder_are_named_on_standard_error(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear")
    errors = io.StringIO()
    call_command("dump_archive", str(tmp_path), stdout=io.StringIO(), stderr=errors)
    assert "letter.txt is still in" in errors.getvalue()


@pytest.mark.django_db(transaction=True)
def test_faults_go_to_standard_error_one_a_line_and_nothing_else_is_printed(tmp_path: Path) -> None:
    files = cells("costs.csv", {"amount": "£780"}, {"paid_on": "3/11/2025"}, {"registration": "QZ99ZZZ"})
    status, output, errors = run("load_archive", str(write_archive(tmp_path / "archive", files)), "--json")
    assert (status, output) == (1, "")
    assert errors.splitlines() == [
        'costs.csv:2: amount: "£780" is not a plain number such as 1234.56; leave the pound sign out',
        'costs.csv:3: paid_on: "3/11/2025" is not a day written year first, such as 2027-03-05',
        "costs.csv:5: registration: QZ99ZZZ is no car of cars.csv or of the book",
    ]
    assert not Member.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_path_that_is_not_there_is_wrong_use(tmp_path: Path) -> None:
    status, output, errors = run("load_archive", str(tmp_path / "nowhere"))
    assert (status, output) == (2, "")
    assert errors.splitlines()[-1].endswith(f"there is no folder or file {tmp_path / 'nowhere'}")


@pytest.mark.django_db(transaction=True)
def test_loading_and_dumping_in_processes_of_their_own(tmp_path: Path) -> None:
    assert run("load_archive", str(write_archive(tmp_path / "archive")))[0] == 0
    status, output, errors = run("dump_archive", str(tmp_path / "dump"), "--json")
    assert (status, errors) == (0, "")
    assert json.loads(output)["rows"] == COUNTS
    assert {file.name: file.read_text() for file in (tmp_path / "dump").iterdir()} == SAMPLE


@pytest.mark.django_db(transaction=True)
def test_the_same_archive_loaded_twice_at_once_is_loaded_once(tmp_path: Path) -> None:
    folder = str(write_archive(tmp_path / "archive"))
    both = [started("load_archive", folder) for _ in range(2)]
    errors = [process.communicate(timeout=300)[1] for process in both]
    statuses = sorted(process.returncode for process in both)
    # The second to come finds every row known, or on PostgreSQL may be told that the database refused it.
    assert statuses[0] == 0
    assert statuses[1] in {0, 1}
    assert not [text for text in errors if "Traceback" in text]
    assert {name: data.decode() for name, data in dump().files.items()} == SAMPLE


@pytest.mark.django_db
def test_loading_closes_no_month_by_itself_and_all_past_their_day_if_asked(tmp_path: Path, today: date) -> None:
    archive = str(write_archive(tmp_path / "archive"))
    call_command("load_archive", archive, stdout=io.StringIO())
    # What the archive says was closed, and no more.
    assert closed_months() == [date(2026, 1, 1), date(2025, 12, 1)]
    answer = json.loads(called("load_archive", archive, "--close", "--json"))
    assert answer["closed"][-2:] == ["2025-11", "2026-02"]
    assert answer["closed"][0] == f"{first_month_to_close():%Y-%m}"
    assert "Months closed" not in called("load_archive", archive, "--close")


@pytest.mark.django_db
def test_an_empty_book_takes_the_closing_day_as_it_is_and_another_from_the_next_month_on(
    tmp_path: Path, today: date
) -> None:
    call_command("load_archive", str(write_archive(tmp_path / "archive")), stdout=io.StringIO())
    assert cooperative().closing_day_of(date(2020, 1, 1)) == 12
    changed = cells("cooperative.csv", {"closing_day": "20"})
    call_command("load_archive", str(write_archive(tmp_path / "archive", changed)), stdout=io.StringIO())
    assert [cooperative().closing_day_of(date(2026, month, 1)) for month in (3, 4)] == [12, 20]
