"""The table of ``faults.md``: each test that it names is there, and no test of a fault is missing from it."""

import re
from pathlib import Path

from tests.named import named_in

FOLDER = Path(__file__).resolve().parent
TABLE = FOLDER / "faults.md"
#: Input that was made to do harm, and forms sent in every state, have tables of their own kind.
NO_FAULTS = re.compile(r"test_hostile_\w+\.py|test_wrong_state\.py")
#: What design.md allows, and nothing else, to be told twice.
REPEATED = "that mail, same Message-ID"


def rows() -> list[list[str]]:
    """The cells of each fault that is withstood."""
    part = TABLE.read_text().partition("## Not withstood")[0]
    lines = [line for line in part.splitlines() if line.startswith("| ") and not line.startswith("| fault |")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def named(row: list[str]) -> set[tuple[str, str]]:
    """The tests that prove a row, each as its file and its name."""
    return set(re.findall(r"`([\w/]+\.py)::(\w+)`", row[4]))


def test_each_row_says_what_is_seen_lost_and_told_twice() -> None:
    for row in rows():
        assert len(row) == 5, row
        assert all(row), row
        assert row[2] == "nothing", row
        assert row[3] in {"nothing", REPEATED}, row
        assert named(row), row


def test_25_of_them_were_made_with_real_processes() -> None:
    assert len([row for row in rows() if "°" not in row[4]]) >= 25


def test_each_test_that_is_named_is_there() -> None:
    every = {one for row in rows() for one in named(row)}
    missing = {(path, name) for path, name in every if name not in named_in(FOLDER / path)}
    assert missing == set()


def test_no_test_of_a_fault_is_missing() -> None:
    files = [path for folder in ("faults", "endure") for path in (FOLDER / folder).glob("test_*.py")]
    there = {
        (str(path.relative_to(FOLDER)), name)
        for path in files
        if not NO_FAULTS.fullmatch(path.name)
        for name in named_in(path)
    }
    assert len(there) > 50
    assert there - {one for row in rows() for one in named(row)} == set()


def test_it_is_linked() -> None:
    assert "tests/faults.md" in (FOLDER.parent / "DEVELOPERS.md").read_text()
