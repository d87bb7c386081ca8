"""What every form with an odometer shares: what it showed last, and the question about what it can hardly show."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any, ClassVar

from config.asking import AskingForm
from config.fields import with_lately
from config.showing import near_day, whole
from fleet import queries
from fleet.core.plausible import reading
from fleet.core.plausible.doubt import Doubt
from fleet.models import Car
from fleet.queries.plausible import reading_limits
from fleet.wording.doubts import DAY_DOUBTS, ODOMETER_DOUBTS
from instructors.models import Member


class OdometerForm(AskingForm):
    """A form with the odometer of a car on a day. A view says whose it is (``put_odometer``) before it is used."""

    doubt_words = {**DAY_DOUBTS, **ODOMETER_DOUBTS}
    #: The fields of the odometer and of its day.
    odometer_field: ClassVar[str] = "odometer"
    day_field: ClassVar[str] = ""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        #: By the field of an odometer, its car.
        self.cars_read: dict[str, Car] = {}
        super().__init__(*arguments, **options)

    def put_odometer(self, by: Member, car: Car | None, today: date, field: str = "") -> None:
        """Show beside the field of the odometer, if the form has it, what the car's showed last, and ask by that."""
        field = field or self.odometer_field
        self.by, self.today = by, today
        if car is None or field not in self.fields:
            return
        self.cars_read[field] = car
        if last := queries.last_reading_of(car, today):
            with_lately(self.fields[field], f"{whole(last.miles)}, {near_day(last.read_on, today)}")
        named = {f"={name}": f"{{{name}:{kind}}}" for name, kind in ((field, "whole"), (self.day_field, "date"))}
        self.doubt_words = {**self.doubt_words, **named}

    def doubts(self) -> Iterable[Doubt]:
        """What the car's odometer can hardly have shown."""
        for field, car in self.cars_read.items():
            yield from self._doubts_about(field, car)

    def _doubts_about(self, field: str, car: Car) -> Iterator[Doubt]:
        miles, day = self.cleaned_data.get(field), self.day_of_reading
        if miles is None or day is None or not self._is_to_be_asked(car, day):
            return
        typed = {field: miles, self.day_field: day.isoformat()}
        limits = reading_limits(self.by, car, day, self.today)
        is_set = self.day_field not in self.fields
        yield from reading.doubts(typed, limits, field, self.day_field, day_is_set=is_set)

    @property
    def day_of_reading(self) -> date | None:
        """The day on which the odometer showed it."""
        day: date | None = self.cleaned_data.get(self.day_field)
        return day

    def _is_to_be_asked(self, car: Car, day: date) -> bool:
        """Whether the day is in the time of whoever types: an action refuses the others, and nobody is told why."""
        since = queries.took_over_on(car) if car.keeper_id == self.by.pk else None
        return day <= self.today and (since is None or day >= since)
