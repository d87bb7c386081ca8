"""What the book's commands share."""

from argparse import ArgumentTypeError
from collections.abc import Callable
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import OperationalError

from config.commands import BookCommand, DataSaysNo, day, month
from tests.schemas import said_while_migrating


def test_a_day_and_a_month_are_read() -> None:
    assert day("2027-03-05") == date(2027, 3, 5)
    assert month("2027-03") == date(2027, 3, 1)


@pytest.mark.parametrize(
    "text",
    ["", "2027-02-30", "2027-3-5", "05/03/2027", "20270305", "2027-W10-5", "0001-01-01", "\u0662027-03-05"],
)
def test_what_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(ArgumentTypeError, match=r"is not a day written year|is no day|is not between"):
        day(text)


@pytest.mark.parametrize("text", ["", "2027-13", "2027-3", "2027-03-05", "March 2027"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(ArgumentTypeError, match="is not a month written year first, such as 2027-03"):
        month(text)


class Spoken(BookCommand):
    """A command that does what its test says."""

    def __init__(self, act: Callable[[BookCommand], None]) -> None:
        super().__init__(stdout=StringIO(), stderr=StringIO(), no_color=True)
        self.act = act

    def handle(self, *args: object, **options: object) -> None:
        self.act(self)

    @property
    def printed(self) -> str:
        return str(self.stdout._out.getvalue())  # type: ignore[attr-defined]


def test_a_table_has_its_columns_in_line_and_numbers_to_the_right() -> None:
    command = Spoken(
        lambda self: self.print_table(
            ["Car", "Miles", "Cost"], [("QA51 ABC", "900", "£1,234.56"), ("Q1", None, "−£3.00")]
        )
    )
    call_command(command, skip_checks=True)
    assert command.printed.splitlines() == [
        "Car       Miles       Cost",
        "--------  -----  ---------",
        "QA51 ABC    900  £1,234.56",
        "Q1                  −£3.00",
    ]


def test_a_table_without_rows_is_its_headers() -> None:
    command = Spoken(lambda self: self.print_table(["Car", "Miles"], []))
    call_command(command, skip_checks=True)
    assert command.printed.splitlines() == ["Car  Miles", "---  -----"]


def test_json_has_iso_days_and_nulls() -> None:
    command = Spoken(lambda self: self.print_json({"on": date(2027, 3, 5), "name": "Ελπίδα", "due_on": None}))
    call_command(command, skip_checks=True)
    assert "".join(command.printed.split()) == (
        '{"on":"2027-03-05","name":"\\u0395\\u03bb\\u03c0\\u03af\\u03b4\\u03b1","due_on":null}'
    )


def _refuse(command: BookCommand) -> None:
    raise DataSaysNo("costs.csv:3: amount: is not money", "fills.csv:9: brimmed: is neither true nor false")


def test_from_a_shell_the_reasons_stand_alone_on_standard_error_and_the_status_is_1(
    capsys: pytest.CaptureFixture[str],
) -> None:
    command = Spoken(_refuse)
    command.requires_system_checks = []
    command.stderr = type(command.stderr)(StringIO())
    with pytest.raises(SystemExit) as leaving:
        command.run_from_argv(["manage.py", "spoken"])
    assert leaving.value.code == 1
    assert command.stderr._out.getvalue() == (  # type: ignore[attr-defined]
        "costs.csv:3: amount: is not money\nfills.csv:9: brimmed: is neither true nor false\n"
    )


def test_called_from_code_the_refusal_is_raised() -> None:
    with pytest.raises(DataSaysNo) as refusal:
        call_command(Spoken(_refuse), skip_checks=True)
    assert refusal.value.returncode == 1


def fail(command: BookCommand) -> None:
    raise OperationalError("no such table: fleet_car\nand more")


@pytest.mark.django_db
def test_a_database_that_cannot_be_used_is_said_plainly() -> None:
    with pytest.raises(DataSaysNo) as refusal:
        call_command(Spoken(fail), skip_checks=True)
    assert str(refusal.value) == (
        "The book's database cannot be used (no such table: fleet_car). Have you run `manage.py migrate`?"
    )


@pytest.mark.django_db
def test_so_is_a_full_disk_of_the_database() -> None:
    def fill(command: BookCommand) -> None:
        raise OperationalError("database or disk is full")

    with pytest.raises(DataSaysNo) as refusal:
        call_command(Spoken(fill), skip_checks=True)
    assert str(refusal.value) == (
        "The disk of the book's database is full (database or disk is full). Make room, then run it again."
    )


@pytest.mark.django_db(transaction=True)
def test_while_the_tables_are_made_it_is_said_to_try_again() -> None:
    said = said_while_migrating(Spoken(fail))
    assert said == ["The book is being made ready. Try again in a minute."]
