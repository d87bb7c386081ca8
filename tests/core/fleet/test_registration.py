import pytest

from fleet.core.registration import normalise, read, show


@pytest.mark.parametrize("typed", ["QA51ABC", "qa51 abc", " QA51-ABC ", "Qa 51 aBc"])
def test_a_mark_is_stored_in_capitals_without_spaces(typed: str) -> None:
    assert normalise(typed) == "QA51ABC"


def test_letters_are_never_made_digits() -> None:
    assert normalise("qi10 oil") == "QI10OIL"


@pytest.mark.parametrize(("text", "mark"), [("a1", "A1"), ("qa51 abc", "QA51ABC"), ("QIZ-12345", "QIZ12345")])
def test_a_mark_is_read_as_it_is_stored(text: str, mark: str) -> None:
    assert read(text) == mark


@pytest.mark.parametrize("text", ["", "A", "QA51ABCDE", "QA51.ABC", "QA51 AB\N{LATIN SMALL LETTER SHARP S}"])
def test_what_is_no_mark_is_refused(text: str) -> None:
    with pytest.raises(
        ValueError, match=r"^is not a registration mark: write 2 to 8 letters and digits, as in QA51 ABC$"
    ):
        read(text)


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
