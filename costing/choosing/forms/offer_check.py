"""The form of the buying check: answers, papers, the rows of an MOT history, and work that the car will need."""

from collections.abc import Iterator
from datetime import date
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from config import quantities
from config.fields import AnswerField, DayField, LinesField, MilesField, NumberField, PoundsField, put_today, unmarked
from costing.choosing.core.look_over import MOST_TESTS, MOST_WORK, POINTS, LookOver, PointGroup, Work
from costing.choosing.core.mot_history import MotTest
from costing.core.money import to_pence, to_pounds

#: Empty rows below those that are filled in.
_ROOM = 2
_RESULTS = {"passed": True, "failed": False}
_KEEPERS = quantities.COUNT.within(least=1, most=99, example="2")


class Group(NamedTuple):
    """Points asked together, ``answered`` of ``asked`` so far. It ``is_open`` if a field has an error."""

    title: str
    fields: list[BoundField]
    answered: int
    asked: int
    is_open: bool


class Row(NamedTuple):
    """The fields of one test or of one piece of work."""

    number: int
    fields: list[BoundField]


class OfferCheckForm(forms.Form):
    """What was seen and asked. Once the form is valid, ``found`` is the whole of it."""

    def __init__(self, data: Any = None, *, found: LookOver, today: date) -> None:
        super().__init__(data, label_suffix="")
        self.before = found
        for point in POINTS.values():
            self.fields[point.name] = unmarked(
                AnswerField(
                    label=point.question,
                    help_text=point.hint,
                    initial=AnswerField.choice_of(found.answers.get(point.name)),
                    required=False,
                )
            )
        self.fields["keepers"] = NumberField(
            _KEEPERS,
            label="Keepers so far",
            help_text="As the registration document counts them.",
            required=False,
            initial=found.keepers,
        )
        self._tests = self._row_count("test_", "_on", len(found.tests), MOST_TESTS)
        self._works = self._row_count("work_", "_words", len(found.work), MOST_WORK)
        for at in range(self._tests):
            self.fields.update(_test_fields(at, found.tests[at] if at < len(found.tests) else None))
        for at in range(self._works):
            self.fields.update(_work_fields(at, found.work[at] if at < len(found.work) else None))
        put_today(self.fields, today)

    def _row_count(self, before: str, after: str, filled: int, most: int) -> int:
        """As many rows as were sent; before that, those filled in and room for more."""
        if self.is_bound:
            return next((at for at in range(most) if f"{before}{at}{after}" not in self.data), most)
        return min(filled + _ROOM, most)

    def groups(self) -> Iterator[Group]:
        """The points as they are asked."""
        for group in PointGroup:
            points = [self[point.name] for point in POINTS.values() if point.group is group]
            fields = [*points, self["keepers"]] if group is PointGroup.PAPERS else points
            is_wrong = any(field.errors for field in fields)
            yield Group(group.value, fields, self.before.looked_at(group), len(points), is_wrong)

    def tests(self) -> list[Row]:
        """The rows of the MOT history."""
        return [Row(at + 1, [self[name] for name in _test_names(at)]) for at in range(self._tests)]

    def work(self) -> list[Row]:
        """The rows of the work it will need."""
        return [Row(at + 1, [self[name] for name in _work_names(at)]) for at in range(self._works)]

    @property
    def has_wrong_test(self) -> bool:
        """Whether a row of the MOT history has an error."""
        return any(field.errors for row in self.tests() for field in row.fields)

    @property
    def has_wrong_work(self) -> bool:
        """Whether a row of the work has an error."""
        return any(field.errors for row in self.work() for field in row.fields)

    def clean(self) -> dict[str, Any]:
        """Put all answers and rows together. An empty row counts as none."""
        data = self.cleaned_data
        tests = tuple(self._typed_tests(data))
        self.found = LookOver(
            {name: data[name] for name in POINTS if data.get(name) is not None},
            None if data.get("keepers") is None else int(data["keepers"]),
            tuple(sorted(tests, key=lambda test: (test.tested_on, test.has_passed))),
            tuple(self._typed_work(data)),
        )
        return data

    def _typed_tests(self, data: dict[str, Any]) -> Iterator[MotTest]:
        for at in range(self._tests):
            on, result, miles, advisories = _test_names(at)
            if not any(self.data.get(name, "").strip() for name in _test_names(at)):
                continue
            if not data.get(on) and on not in self.errors:
                self.add_error(on, "Give the day of this test.")
            if not data.get(result) and result not in self.errors:
                self.add_error(result, "Choose one.")
            if not self.errors:
                yield MotTest(data[on], _RESULTS[data[result]], data[miles], tuple(data[advisories]))

    def _typed_work(self, data: dict[str, Any]) -> Iterator[Work]:
        for at in range(self._works):
            words, pounds = _work_names(at)
            if data.get(words):
                yield Work(data[words], None if data.get(pounds) is None else to_pence(data[pounds]))
            elif data.get(pounds) is not None and words not in self.errors:
                self.add_error(words, "Say what this is for.")


def _test_names(at: int) -> tuple[str, str, str, str]:
    return f"test_{at}_on", f"test_{at}_result", f"test_{at}_miles", f"test_{at}_advisories"


def _test_fields(at: int, test: MotTest | None) -> Iterator[tuple[str, forms.Field]]:
    on, result, miles, advisories = _test_names(at)
    was = {True: "passed", False: "failed"}
    yield on, unmarked(DayField(label="Day", required=False, initial=test and test.tested_on))
    yield (
        result,
        unmarked(
            forms.ChoiceField(
                label="Result",
                choices=[("passed", "Passed"), ("failed", "Failed")],
                widget=forms.RadioSelect,
                required=False,
                initial=None if test is None else was[test.has_passed],
            )
        ),
    )
    yield miles, unmarked(MilesField(label="Odometer", required=False, initial=test and test.miles))
    yield (
        advisories,
        unmarked(
            LinesField(
                label="Advisories",
                longest=200,
                most=20,
                initial="\n".join(test.advisories) if test else None,
                max_length=4_000,
            )
        ),
    )


def _work_names(at: int) -> tuple[str, str]:
    return f"work_{at}_words", f"work_{at}_pounds"


def _work_fields(at: int, work: Work | None) -> Iterator[tuple[str, forms.Field]]:
    words, pounds = _work_names(at)
    yield words, unmarked(forms.CharField(label="What", max_length=80, required=False, initial=work and work.words))
    known = None if work is None or work.pence is None else to_pounds(work.pence)
    yield pounds, unmarked(PoundsField(label="About how much", required=False, initial=known))
