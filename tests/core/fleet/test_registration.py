import pytest

from fleet.core.registration import normalise, show


@pytest.mark.parametrize("typed", ["QA51ABC", "qa51 abc", " QA51-ABC ", "Qa 51 aBc"])
def test_a_mark_is_stored_in_capitals_without_spaces(typed: str) -> None:
    assert normalise(typed) == "QA51ABC"


def test_letters_are_never_made_digits() -> None:
    assert normalise("qi10 oil") == "QI10OIL"


@pytest.mark.parametrize(
    ("stored", "shown"),
    [
        ("QA51ABC", "QA51 ABC"),
        ("Q123ABC", "Q123 ABC"),
        ("QAB123Q", "QAB 123Q"),
        ("1234QA", "1234 QA"),
        ("QIZ1234", "QIZ 1234"),
        ("QA51AB", "QA51AB"),
    ],
)
def test_a_mark_is_shown_with_its_usual_space(stored: str, shown: str) -> None:
    assert show(stored) == shown
