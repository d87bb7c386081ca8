"""Taking a name out of what others wrote."""

import pytest

from config.erasing import without


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Ann Lee", "a former member"),
        ("Done by ANN LEE, ann lee and Ann Lee.", "Done by a former member, a former member and a former member."),
        ("Joann Leeward and Ann Leeward", "Joann Leeward and Ann Leeward"),
        ("ask ann@book.example today", "ask a former member today"),
        ("Write to ann@book.example.", "Write to a former member."),
        ("jo-ann@book.example, ann@book.example.org", "jo-ann@book.example, ann@book.example.org"),
        ("İ, Ann Lee", "İ, a former member"),
        ("Lee, Ann", "Lee, Ann"),
        ("", ""),
    ],
)
def test_a_name_and_an_address_go_where_they_stand_by_themselves(text: str, left: str) -> None:
    assert without(text, ["ann@book.example", "Ann Lee"]) == left
