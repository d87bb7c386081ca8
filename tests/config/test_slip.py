"""The slip: each row has its label, unit, last value, and below it the hint, the error or the question."""

import re

import pytest
from django import forms

from config.fields import (
    AnswerField,
    DayField,
    Likely,
    MilesField,
    PoundsField,
    Question,
    unmarked,
    with_lately,
    with_unit,
)


class Slip(forms.Form):
    paid = PoundsField(label="Paid", example="51.84")
    odometer = MilesField(label="Odometer", help_text="As it stands now.")
    day = DayField(label="Day", required=False)
    name = unmarked(forms.CharField(label="Name", required=False))
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)
    worth = PoundsField(label="What would it fetch today, sold to a stranger?", required=False)
    brimmed = forms.BooleanField(label="Brimmed", required=False)
    tuition = AnswerField(label="Does it cover tuition?", required=False)


def row(name: str, form: forms.Form | None = None) -> str:
    """The row of a field, its white space in one."""
    return " ".join((form or Slip())[name].as_field_group().split())


def described_by(shown: str) -> list[str]:
    """What a screen reader reads after the name of the control."""
    found = re.search(r'aria-describedby="([^"]*)"', shown)
    ids = found.group(1).split() if found else []
    assert all(f'id="{one}"' in shown for one in ids), "it names something that is not there"
    return ids


def test_a_row_has_label_and_control_joined() -> None:
    shown = row("paid")
    assert shown.startswith('<div class="row"> <label for="id_paid">Paid')
    assert 'id="id_paid"' in shown
    assert "optional" not in shown


def test_what_may_be_left_empty_says_so_in_its_label_unless_the_page_does() -> None:
    assert "<small>optional</small>" in row("day")
    assert "optional" not in row("name")


def test_the_last_value_stands_in_the_label_so_that_it_is_read_with_it() -> None:
    form = Slip()
    with_lately(form.fields["odometer"], "41,518 on Monday")
    shown = row("odometer", form)
    assert re.search(r'<label for="id_odometer">.*<small>41,518 on Monday</small>.*</label>', shown)
    assert "41,518" not in row("odometer"), "the last value of one form must not stay with the next"


def test_a_unit_is_seen_after_the_figure_and_heard_with_the_label() -> None:
    form = Slip()
    with_unit(form.fields["paid"], "a week")
    assert '<span class="unit" aria-hidden="true">miles</span>' in row("odometer")
    assert 'Odometer<span class="sr">, in miles</span>' in row("odometer")
    assert 'Paid<span class="sr">, in pounds</span>' in row("paid")


@pytest.mark.parametrize(
    ("name", "kind"),
    [("paid", "row"), ("note", "row long"), ("worth", "row long"), ("brimmed", "row tick"), ("tuition", "row long")],
)
def test_a_long_label_or_a_wide_control_has_the_label_above(name: str, kind: str) -> None:
    assert f'class="{kind}"' in row(name)


def test_words_that_would_be_cut_off_beside_their_label_stand_below_it() -> None:
    assert 'class="row"' in row("name", Slip(initial={"name": "Zofia"}))
    assert 'class="row long"' in row("name", Slip(initial={"name": "An instructors' co-op with a long name"}))


def test_an_error_stands_in_its_row_and_keeps_what_was_typed() -> None:
    form = Slip({"paid": "a lot", "odometer": "41700"})
    shown = row("paid", form)
    assert 'value="a lot"' in shown
    assert '<p class="ask wrong" id="id_paid_error">' in shown
    assert described_by(shown) == ["id_paid_error"]
    assert 'aria-invalid="true"' in shown
    assert described_by(row("odometer", form)) == ["id_odometer_helptext"]


def test_a_question_opens_below_its_row_and_all_its_answers_send_the_form() -> None:
    form = Slip({"paid": "51.84", "odometer": "417000"})
    meanings = (Likely("odometer=41700", "41,700"), Likely("odometer=41800", "41,800"))
    form.fields["odometer"].question = Question("375,482 miles since Monday?", meanings, "odometer_far:417000")
    shown = row("odometer", form)
    assert 'aria-label="A question about odometer"' in shown
    assert "375,482 miles since Monday?" in shown
    assert '<button class="key" type="submit" name="meant" value="odometer=41700">41,700</button>' in shown
    assert '<button class="key second" type="submit" name="meant" value="odometer=41800">41,800</button>' in shown
    right = '<button class="key second" type="submit" name="is_right" value="odometer_far:417000">It is right</button>'
    assert right in shown


def test_what_cannot_be_right_is_refused_with_what_may_be_meant() -> None:
    form = Slip({"paid": "51.84", "odometer": "4170"})
    form.fields["odometer"].question = Question("Less?", (Likely("odometer=41700", "41,700"),), may_be_right=False)
    shown = row("odometer", form)
    assert 'class="ask wrong"' in shown
    assert 'name="meant"' in shown
    assert "It is right" not in shown
    form.fields["odometer"].question = Question("Less?", may_be_right=False)
    assert "<button" not in row("odometer", form)


def test_an_error_goes_before_a_question() -> None:
    form = Slip({"paid": "a lot", "odometer": "1"})
    form.fields["paid"].question = Question("Really?")
    assert "Really?" not in row("paid", form)


def test_a_group_of_choices_is_a_group_with_its_legend() -> None:
    shown = row("tuition")
    assert re.match(r'<fieldset class="row long">.*<legend>Does it cover tuition\?', shown)
    assert shown.count('type="radio"') == 3


def test_what_a_field_says_is_escaped() -> None:
    form = Slip({"paid": "<script>"})
    with_lately(form.fields["paid"], "<b>")
    shown = row("paid", form)
    assert "<script>" not in shown
    assert "<b>" not in shown
