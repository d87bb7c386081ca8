"""The table of ``asvs.md``: it tells of every requirement once, and each test that it names is there."""

import re
from collections import Counter
from pathlib import Path

import pytest
from django.utils.module_loading import import_string

from config import budgets, decoding
from config import settings as book
from instructors.actions import record
from instructors.signing_in import limits, passwords
from instructors.signing_in.limits import Limit
from tests.named import named_in

FOLDER = Path(__file__).resolve().parent
TABLE = FOLDER / "asvs.md"
#: ASVS 5.0.0: the level of each requirement of a section, in their order.
LEVELS = {
    "1.1": "22", "1.2": "1111122223", "1.3": "112222222223", "1.4": "222", "1.5": "123",
    "2.1": "122", "2.2": "112", "2.3": "12223", "2.4": "23",
    "3.1": "3", "3.2": "113", "3.3": "12223", "3.4": "11222233", "3.5": "11122333", "3.6": "3", "3.7": "22333",
    "4.1": "12233", "4.2": "23333", "4.3": "22", "4.4": "1222",
    "5.1": "2", "5.2": "112333", "5.3": "113", "5.4": "222",
    "6.1": "122", "6.2": "111111112222", "6.3": "11223333", "6.4": "112233", "6.5": "22222333", "6.6": "2223",
    "6.7": "33", "6.8": "2222",
    "7.1": "222", "7.2": "1111", "7.3": "22", "7.4": "11222", "7.5": "223", "7.6": "22",
    "8.1": "1233", "8.2": "1123", "8.3": "133", "8.4": "23",
    "9.1": "111", "9.2": "1222",
    "10.1": "22", "10.2": "223", "10.3": "22223", "10.4": "1111122222233333", "10.5": "22222", "10.6": "22",
    "10.7": "222",
    "11.1": "2233", "11.2": "22233", "11.3": "11233", "11.4": "1222", "11.5": "23", "11.6": "23", "11.7": "33",
    "12.1": "12233", "12.2": "11", "12.3": "22223",
    "13.1": "2333", "13.2": "222223", "13.3": "2233", "13.4": "1222233",
    "14.1": "22", "14.2": "12223333", "14.3": "122",
    "15.1": "12233", "15.2": "12233", "15.3": "1222222", "15.4": "3333",
    "16.1": "2", "16.2": "22222", "16.3": "2222", "16.4": "222", "16.5": "2223",
    "17.1": "23", "17.2": "22223333", "17.3": "22",
}  # fmt: skip
WANTED = {
    f"V{section}.{number}": level
    for section, levels in LEVELS.items()
    for number, level in enumerate(levels, start=1)
    if level in "12"
}


def rows() -> list[list[str]]:
    """The cells of each row that begins with a requirement."""
    lines = (line for line in TABLE.read_text().splitlines() if line.startswith("| V"))
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def proven() -> list[list[str]]:
    return [row for row in rows() if len(row) == 4 and "::" in row[3]]


def test_the_list_is_that_of_the_standard() -> None:
    """70 of level 1, 183 of level 2, 92 of level 3, as the standard itself counts them."""
    assert Counter("".join(LEVELS.values())) == {"1": 70, "2": 183, "3": 92}


def test_every_requirement_is_told_once() -> None:
    told = Counter(name for row in rows() for name in row[0].split(", "))
    assert [name for name, count in told.items() if count > 1] == []
    assert sorted(set(WANTED) - set(told)) == []
    assert sorted(set(told) - set(WANTED)) == []


def test_each_has_its_level_and_its_chapter() -> None:
    assert [row[0] for row in rows() if len(row) == 4 and row[1] != WANTED[row[0]]] == []
    assert {len(row) for row in rows()} == {2, 4}
    chapter = ""
    for line in TABLE.read_text().splitlines():
        if line.startswith("## "):
            chapter = line.split()[1]
        elif line.startswith("| V") and chapter != "Applies,":
            assert line.startswith(f"| {chapter}."), line


def test_every_test_that_is_named_is_there() -> None:
    named = [(row[0], path, name) for row in proven() for path, name in re.findall(r"`([\w/]+\.py)::(\w+)`", row[3])]
    assert len(named) > 200
    missing = [
        f"{requirement}: {path}::{name}"
        for requirement, path, name in named
        if not (FOLDER / path).is_file() or name not in named_in(FOLDER / path)
    ]
    assert missing == []


def test_whatever_claims_to_be_proven_names_a_test() -> None:
    part = TABLE.read_text().partition("## Applies, and not proven")[0]
    claimed = [line for line in part.splitlines() if re.match(r"\| V[\d.]+ \| [12] \|", line)]
    assert len(claimed) == len(proven())
    for row in proven():
        assert re.sub(r"`[\w/]+\.py::test_\w+`|, ", "", row[3]) == "", row


def times(limit: Limit) -> str:
    span = {900: "15 minutes", 86_400: "a day"}[limit.seconds]
    return f"{limit.most} in {span}"


def written_down() -> dict[str, str]:
    """What stands in the first table, by what it is about."""
    part = TABLE.read_text().partition("## What the standard wants written down")[2].partition("\n## ")[0]
    return dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", part, re.MULTILINE))


def test_what_is_written_down_is_so() -> None:
    says = written_down()
    tries = "wrong passwords and codes, "
    on_device = (limits.TRIES_ON_DEVICE, limits.TRIES_ON_DEVICE_IN_A_DAY)
    by_client = (limits.TRIES_BY_CLIENT_AT_ADDRESS, limits.TRIES_BY_CLIENT_AT_ADDRESS_IN_A_DAY)
    assert says[f"{tries}on a device of the member's"] == ", ".join(map(times, on_device))
    assert says[f"{tries}by another client at one address"] == ", ".join(map(times, by_client))
    assert says[f"{tries}by one client at all addresses"] == times(limits.TRIES_BY_CLIENT)
    assert says[f"{tries}by all other clients at one address"] == times(limits.TRIES_BY_STRANGERS_AT_ADDRESS)
    assert passwords._PRODUCT in says["words that make no password"]
    # Ways in.
    assert book.AUTHENTICATION_BACKENDS == ["allauth.account.auth_backends.AuthenticationBackend"]
    assert {"email"} == book.ACCOUNT_LOGIN_METHODS
    assert book.ACCOUNT_LOGIN_BY_CODE_ENABLED is book.MFA_PASSKEY_LOGIN_ENABLED is True
    assert set(book.MFA_SUPPORTED_TYPES) == {"webauthn", "totp", "recovery_codes"}
    # Sessions.
    assert says["signed in without showing it again"].startswith(f"{book.SESSION_COOKIE_AGE // 86_400} days, ")
    minutes = book.ACCOUNT_REAUTHENTICATION_TIMEOUT // 60
    assert f"more than {minutes} minutes ago" in says["before a change to one's own signing in"]
    # Uploads.
    assert f"up to {budgets.PICTURE_BYTES:,} bytes" in says["photos"]
    assert set(re.findall(r"[A-Z]{3,4}", says["photos"].partition(" by ")[0])) == set(decoding._FORMATS)
    assert f"up to {budgets.PICTURE_BYTES:,} bytes and {budgets.PDF_PAGES} pages" in says["receipts"]
    most = f"{budgets.RECEIPTS_OF_MEMBER:,} pages and {budgets.RECEIPT_BYTES_OF_MEMBER:,} bytes of one member"
    assert most in says["receipts"]
    assert f"up to {budgets.IMPORT_BYTES:,} bytes and {budgets.IMPORT_ROWS:,} rows" in says["imports"]
    assert f"up to {budgets.OFFERS_FILE_BYTES:,} bytes" in says["offers files"]
    # Keys and hashes; test_dangerous_calls.py holds that there are no others.
    hasher = import_string(book.PASSWORD_HASHERS[0])()
    expected = f"Argon2id, {hasher.memory_cost} KiB, {hasher.time_cost} passes"
    assert says["passwords are kept as"] == expected
    # The log, and what the record keeps.
    assert set(book.LOGGING["handlers"]) == {"console"}
    assert f"for {record.KEPT_FOR.days} days" in says["the book's log"]


@pytest.mark.parametrize("what", ["DEVELOPERS.md"])
def test_it_is_linked(what: str) -> None:
    assert "tests/asvs.md" in (FOLDER.parent / what).read_text()
