"""A form that asks: a question makes it not valid, a key's meaning is taken, an answer counts for its values alone."""

from datetime import date
from urllib.parse import quote

from django.http import QueryDict

from config.asking import AskingForm, fill
from config.fields import MilesField, PoundsField
from config.quantities import MILES
from fleet.core.plausible.doubt import Change, Doubt, Meaning

TODAY = date(2026, 11, 26)


class Slip(AskingForm):
    """Doubts an odometer above 100,000, refuses one below 100 and doubts a sum of the same figure."""

    doubt_words = {
        "far": "{miles:whole} miles since {since:day}?",
        "low": "it showed more.",
        "same": "the odometer again?",
        "=odometer": "{odometer:whole}",
        "=swap": "swap them",
    }
    today = TODAY

    odometer = MilesField()
    paid = PoundsField(required=False)

    def doubts(self) -> list[Doubt]:
        miles, paid = self.cleaned_data["odometer"], self.cleaned_data["paid"]
        rests_on = (Change("odometer", str(miles)),)
        tenth = (Meaning((Change("odometer", str(miles // 10)),)),)
        found = []
        if miles > 100_000:
            found.append(Doubt("odometer", "far", {"miles": miles, "since": "2026-11-23"}, rests_on, tenth))
        if miles < 100:
            more = Change("odometer", str(miles * 10))
            found.append(Doubt("odometer", "low", {}, rests_on, (Meaning((more,)),), may_be_right=False))
        if paid and paid in (miles, miles // 1000):
            swap = Meaning((Change("paid", ""), Change("odometer", str(miles))), "swap")
            found.append(Doubt("paid", "same", {}, (*rests_on, Change("paid", str(paid))), (swap,)))
        return found


def slip(sent: str) -> Slip:
    return Slip(QueryDict(sent))


def test_what_is_plausible_is_not_asked() -> None:
    form = slip("odometer=41700")
    assert form.is_valid()
    assert form.cleaned_data == {"odometer": 41_700, "paid": None}
    assert form.found_right == ()


def test_a_doubt_is_asked_beside_its_field_with_its_meaning() -> None:
    form = slip("odometer=417,000")
    assert not form.is_valid()
    assert not form.errors
    shown = form["odometer"].as_field_group()
    assert "417,000 miles since Monday?" in shown
    assert 'value="odometer=41700&amp;was.odometer=417%2C000">41,700</button>' in shown
    assert 'aria-describedby="id_odometer_question"' in shown
    assert form.questions_as_data() == {
        "odometer": {
            "key": "far:417000",
            "why": "417,000 miles since Monday?",
            "may_be_right": True,
            "right": "It is right",
            "meanings": [{"changes": {"odometer": "41700"}, "words": "41,700"}],
        }
    }


def test_its_key_means_the_other_value() -> None:
    form = slip("odometer=417,000&meant=odometer%3D41700%26was.odometer%3D417%252C000")
    assert form.is_valid()
    assert form.cleaned_data["odometer"] == 41_700


def test_its_key_means_nothing_once_something_else_was_typed() -> None:
    form = slip("odometer=41,800&meant=odometer%3D41700%26was.odometer%3D417%252C000")
    assert form.is_valid()
    assert form.cleaned_data["odometer"] == 41_800


def test_it_changes_fields_of_the_form_alone() -> None:
    assert slip("odometer=417&meant=car%3DAB12CDE").data.get("car") is None
    too_many = "&".join(f"f{number}=1" for number in range(30))
    sent = QueryDict("odometer=417", mutable=True)
    sent["meant"] = too_many
    assert Slip(sent).is_valid()


def test_a_meaning_may_empty_a_field() -> None:
    sent = QueryDict("odometer=500&paid=500", mutable=True)
    form = Slip(sent)
    assert not form.is_valid()
    (likely,) = form.questions["paid"].meanings
    assert likely.words == "Swap them"
    sent["meant"] = likely.value
    form = Slip(sent)
    assert form.is_valid()
    assert form.cleaned_data["paid"] is None


def test_an_answer_counts_for_its_values_alone() -> None:
    form = slip("odometer=417000&is_right=far:417000")
    assert form.is_valid()
    assert form.found_right == ("far",)
    assert not slip("odometer=418000&is_right=far:417000").is_valid()


def test_an_answer_goes_along_with_the_next() -> None:
    form = slip("odometer=417000&paid=417&is_right=far:417000")
    assert not form.is_valid()
    assert set(form.questions) == {"paid"}
    assert '<input type="hidden" name="is_right" value="far:417000"' in str(form["is_right"])
    both = slip("odometer=417000&paid=417&is_right=far:417000&is_right=same:417000%7C417.00")
    assert both.is_valid()
    assert both.found_right == ("far", "same")


def test_what_cannot_be_right_is_not_taken_whatever_is_answered() -> None:
    form = slip("odometer=41&is_right=low:41")
    assert not form.is_valid()
    assert form.questions_as_data()["odometer"]["may_be_right"] is False
    assert "It is right" not in form["odometer"].as_field_group()


def test_what_was_found_right_before_is_not_asked_again_while_it_says_the_same() -> None:
    class Correction(Slip):
        def answered_before(self) -> list[str]:
            return ["far:417000"]

    form = Correction(QueryDict("odometer=417000"))
    assert form.is_valid()
    assert form.found_right == ("far",)
    assert not Correction(QueryDict("odometer=418000")).is_valid()


def test_nothing_is_asked_while_there_are_errors() -> None:
    form = slip("odometer=417000&paid=lots")
    assert not form.is_valid()
    assert form.errors
    assert not form.questions
    assert "is_right" not in form.cleaned_data


def test_templates_are_filled() -> None:
    figures: dict[str, int | str] = {"a": 12_345, "b": 1_590, "c": 1_429, "d": 36_280, "e": 1_950, "f": "2026-11-25"}
    words = fill("a {a:whole}, {b:pounds}, {c:pence}, {d:amount}, {e:hours}, {f:day}, {f}", figures, TODAY)
    assert words == "A 12,345, £15.90, 142.9p, 36.28, 32.5, yesterday, 2026-11-25"
    assert fill("{s:sum} {t:sum} {b:pounds}", {"s": "1590", "t": "15.9", "b": 90_000}, TODAY) == "£1,590 £15.90 £900"
    assert fill("{a:long}, {b:long}", {"a": 179, "b": 600}, TODAY) == "179 minutes, 10 hours"
    typed: dict[str, int | str] = {"a": "4:10", "b": "2.5", "c": "1"}
    assert fill("{a:taught}, {b:taught}, {c:taught}", typed, TODAY) == "4 h 10 min, 2.5 hours, 1 hour"


class Bounded(Slip):
    """A slip whose odometer has a bound: a tenth of what is above it may be meant."""

    odometer = MilesField(MILES.within(most=200_000))

    def meant_instead(self) -> list[Meaning]:
        typed = self.data["odometer"]
        return [Meaning((Change("odometer", value),)) for value in (typed[:-1], typed[:-1], f"{typed}0", "")]


def test_below_an_error_stands_what_the_form_would_take() -> None:
    form = Bounded(QueryDict("odometer=417000"))
    assert not form.is_valid()
    assert "more than 200,000" in str(form.errors["odometer"])
    told = form.questions_as_data()["odometer"]
    assert (told["why"], told["may_be_right"]) == ("", False)
    assert told["meanings"] == [{"changes": {"odometer": "41700"}, "words": "41,700"}]
    shown = form["odometer"].as_field_group()
    assert 'value="odometer=41700&amp;was.odometer=417000"' in shown
    assert Bounded(QueryDict(f"odometer=417000&meant={quote('odometer=41700&was.odometer=417000')}")).is_valid()


def test_what_the_form_would_not_take_either_is_not_offered() -> None:
    assert Bounded(QueryDict("odometer=9999999")).questions == {}
