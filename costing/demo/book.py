"""The demonstration's records as an archive, made up around today; the same day always gives the same records."""

import csv
from collections import defaultdict
from datetime import date, timedelta
from pathlib import Path
from random import Random

from costing.core.catalogue.agreements import WEEKLY_RENTAL
from costing.core.catalogue.costs import (
    BREAKDOWN_COVER,
    CLEANING,
    FIT_OUT,
    INSURANCE,
    MOT,
    REPAIRS,
    SERVICING,
    VEHICLE_TAX,
)
from costing.demo.cast import CAST, COOPERATIVE, MEMBER, Instructor
from costing.demo.condition import Write, write_condition, write_own_point
from costing.demo.repeats import write_repeats
from costing.demo.takings import write_takings
from costing.demo.teaching import write_lessons
from costing.demo.tyres import write_tyres
from fleet.core.days import add_months
from fleet.core.due_kinds import DUE_KINDS

ONE_DAY, ONE_WEEK = timedelta(days=1), timedelta(weeks=1)
#: The weeks of a year with few lessons or none: Christmas, and a fortnight in August.
HOLIDAY_WEEKS = {1, 32, 33, 52}
WEEKS_OFF = {52}
#: For so long a busy member has logged nothing.
UNLOGGED = timedelta(days=45)
#: For so long a car goes less far than it did.
LESS_FAR_FOR = timedelta(weeks=6)
SERVICE_MILES = 12_000
TAX, BREAKDOWN, MOT_FEE = 195, 62, "54.85"


def write_demo_archive(folder: Path, today: date) -> None:
    """Write the made-up book into ``folder`` as an archive whose records end today."""
    files: dict[str, list[dict[str, object]]] = defaultdict(list)

    def write(name: str, /, **columns: object) -> str:
        if name in {"costs", "fills", "teaching", "takings", "checks", "defects"}:
            columns = {"ref": f"demo-{name}-{len(files[name]) + 1:05}"} | columns
        files[name].append(columns)
        return str(columns.get("ref", ""))

    write(
        "cooperative",
        name=COOPERATIVE,
        nation="GB",
        minimum_contributors=5,
        depreciation_rate="0.15",
        reminder_hour=7,
    )
    write_own_point(write)
    for number, instructor in enumerate(CAST):
        # Each car came on a different day, so that their bills do not all fall due together.
        start = add_months(today.replace(day=1), -instructor.months) + timedelta(days=3 * number)
        chance = Random(number)  # noqa: S311 - made-up figures, not secrets
        story = _Story(instructor, start, today, chance, write)
        story.tell()
        write_condition(instructor, start, today, story.mot_on, write)
    for name, rows in files.items():
        columns = list(dict.fromkeys(column for row in rows for column in row))
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            table = csv.DictWriter(file, columns, lineterminator="\n")
            table.writeheader()
            table.writerows(rows)


class _Story:
    """One instructor's records, from the day their car came into service to today."""

    def __init__(self, instructor: Instructor, start: date, today: date, chance: Random, write: Write) -> None:
        self.of, self.start, self.today, self.chance = instructor, start, today, chance
        self.miles = float(instructor.odometer)
        self.next_service = instructor.odometer + 6_000
        #: The day of the last MOT test, if the car has had one since it came.
        self.mot_on: date | None = None
        self._write = write

    def tell(self) -> None:
        self._people_and_car()
        self._terms()
        self._yearly_bills()
        self._weeks()
        write_tyres(self.of, self.start, self.today, self._cost, self._write)
        self._dues()

    def _log(self, name: str, /, **columns: object) -> str:
        return self._write(name, registration=self.of.registration, member_email=self.of.email, **columns)

    def _cost(self, on: date, category: str, amount: object, **columns: object) -> str:
        if self.start <= on <= self.today:
            return self._log("costs", paid_on=on, category=category, amount=amount, **columns)
        return ""

    def _met(self, kind: str, on: date, **columns: object) -> None:
        who = self.of
        self._write(
            "completions",
            registration=who.registration,
            kind=kind,
            done_on=on,
            recorded_by_email=who.email,
            **columns,
        )

    def _people_and_car(self) -> None:
        who = self.of
        self._write(
            "members",
            email=who.email,
            name=who.name,
            role=who.role,
            grade=who.grade,
            joined_on=self.start,
            left_on="" if who.leaves_in is None else self.today + timedelta(days=who.leaves_in),
        )
        self._write(
            "cars",
            registration=who.registration,
            description=who.car,
            keeper_email=who.email,
            fuel=who.fuel,
            transmission=who.transmission,
            dual_controls="true",
            first_registered=add_months(self.start, -who.age_in_months),
            in_service_from=self.start,
            registered_keeper="" if who.way.is_hire else who.email,
        )
        if who.taken_over_from:
            handed_over = self.start - ONE_DAY
            self._keeps(who.taken_over_from, add_months(handed_over, -3), handed_over)
            self._keeps(who.email, self.start, "")

    def _keeps(self, email: str, first: date, last: object) -> None:
        self._write("keepers", registration=self.of.registration, from_on=first, member_email=email, to_on=last)

    def _terms(self) -> None:
        who = self.of
        if who.agreement:
            self._write("agreements", registration=who.registration, starts_on=self.start, **who.agreement)
        for number, value in enumerate(who.values, start=1):
            valued_on = add_months(self.start, who.months * number // (len(who.values) + 1))
            self._write("valuations", registration=who.registration, valued_on=valued_on, value=value)
        write_repeats(self._log, who, self.start, self.today)

    def _yearly_bills(self) -> None:
        who, on = self.of, self.start
        if who.way is not WEEKLY_RENTAL:
            term = int(str(who.agreement.get("payments") or FIT_OUT.usual_months))
            lasts = {"covers_from": on, "covers_to": add_months(on, term) - ONE_DAY}
            self._cost(on, FIT_OUT.name, "385.00", note="dual controls, plates and a second mirror", **lasts)
        self._covers(INSURANCE.name, who.insurance)
        self._covers(BREAKDOWN_COVER.name, BREAKDOWN if who.insurance else 0)
        self._covers(VEHICLE_TAX.name, 0 if who.way.is_hire else TAX)
        self._mot_tests()

    def _covers(self, kind: str, amount: int) -> None:
        """Write what each year of cover cost, each paid on its first day: the last one runs until it falls due."""
        last = self._due_on(kind)
        for ago in (3, 2, 1):
            # The first cover began with the car, whenever its year ends.
            begins = max(add_months(last, -12 * ago) + ONE_DAY, self.start)
            until = add_months(last, 12 - 12 * ago)
            if ago == 1:
                begins += self.of.late.get(kind, 0) * ONE_DAY
            if amount and begins <= until:
                share = min(1, ((until - begins).days + 1) / 365)
                paid = amount * share * (self.chance.uniform(0.93, 1.0) if kind == INSURANCE.name else 1)
                self._cost(begins, kind, f"{paid:.2f}", covers_from=begins, covers_to=until)

    def _anniversary(self) -> date:
        """Return the next anniversary of the day on which the car came into service."""
        anniversary = self.start
        while anniversary <= self.today:
            anniversary = add_months(anniversary, 12)
        return anniversary

    def _due_on(self, kind: str) -> date:
        who = self.of
        if kind in who.due_in:
            return self.today + timedelta(days=who.due_in[kind])
        # Cover that begins on a day runs out on the day before its anniversary.
        return self._anniversary() - (ONE_DAY if DUE_KINDS[kind].is_cover else timedelta())

    def _mot_tests(self) -> None:
        """Write the MOT tests that lead to the day of the next one; each keeps the day of the month."""
        if self.of.age_in_months < 36:
            return
        for months in (24, 12):
            was_due_on = add_months(self._due_on("mot"), -months)
            done_on = was_due_on - timedelta(days=10)
            paid = self._cost(done_on, MOT.name, MOT_FEE)
            if paid and not self.of.gaps:
                self._met("mot", done_on, was_due_on=was_due_on, cost_ref=paid)
                self.mot_on = done_on

    def _weeks(self) -> None:
        who, week = self.of, self.start
        since_fill = 0.0
        taught: dict[date, int] = {}
        while week + ONE_WEEK <= self.today + ONE_DAY:
            share = 0.25 if week.isocalendar().week in HOLIDAY_WEEKS else self.chance.uniform(0.82, 1.12)
            lost = who.gaps and (week.month % 4 == 0 or week >= self.today - UNLOGGED)
            driven = who.weekly_miles * share
            lessons = 0 if week.isocalendar().week in WEEKS_OFF else round(who.weekly_lessons * share)
            if not lost:
                private_miles = round(driven * self.chance.uniform(0.06, 0.14))
                write_lessons(self._log, week, lessons, private_miles, self.today)
                taught[week] = lessons
            since_fill = self._drive(week, driven, since_fill, lost)
            self._workshop(week)
            if self.chance.random() < 0.2:
                self._cost(week + timedelta(days=5), CLEANING.name, "12.00")
            week += ONE_WEEK
        write_takings(self._write, who, taught, self.today)

    def _drive(self, week: date, driven: float, since_fill: float, lost: bool) -> float:
        """Drive a week in two halves, filling up once half a tank is used; return the miles since the last fill."""
        who = self.of
        for day_of_week in (2, 5):
            self.miles += driven / 2
            since_fill += driven / 2
            used = since_fill / (self._miles_per_unit(week) * self.chance.uniform(0.95, 1.05))
            if used > who.tank / 2 and not lost:
                brimmed = self.chance.random() < 0.85
                quantity = used if brimmed else used * 0.7
                self._log(
                    "fills",
                    filled_on=week + timedelta(days=day_of_week),
                    odometer=int(self.miles),
                    quantity=f"{quantity:.2f}",
                    unit=who.unit,
                    amount=f"{quantity * who.price_per_unit * self.chance.uniform(0.96, 1.05):.2f}",
                    brimmed=str(brimmed).lower(),
                    gap_before=str(who.gaps and self.chance.random() < 0.2).lower(),
                )
                since_fill = 0.0 if brimmed else since_fill * 0.3
        if week.day <= 7 and not lost:
            read_on = week + timedelta(days=6)
            self._write("odometer", registration=who.registration, read_on=read_on, miles=int(self.miles))
        return since_fill

    def _miles_per_unit(self, week: date) -> float:
        less = self.of.less_far if week >= self.today - LESS_FAR_FOR else 0
        return self.of.miles_per_unit * (1 - less)

    def _workshop(self, week: date) -> None:
        if self.chance.random() < 0.035 and self.of.insurance:
            self._cost(week + ONE_DAY, REPAIRS.name, f"{self.chance.uniform(60, 260):.2f}")
        if self.miles < self.next_service:
            return
        paid = ""
        if self.of.insurance:
            paid = self._cost(week + ONE_DAY, SERVICING.name, f"{self.chance.uniform(130, 240):.2f}")
        if not self.of.gaps:
            shown = {"was_due_miles": self.next_service, "odometer": int(self.miles)}
            self._met("service", week + ONE_DAY, cost_ref=paid, **shown)
        self.next_service = int(self.miles) + SERVICE_MILES

    def _dues(self) -> None:
        who = self.of
        # An old car without a recorded MOT is unknown, not fine; for a young one, the rule gives the first MOT.
        has_mot_day = not who.gaps and who.age_in_months + who.months >= 36
        for name, kind in DUE_KINDS.items():
            if not kind.belongs_to("car") or not (kind.is_cover or kind.usual_months or (kind.is_mot and has_mot_day)):
                continue
            self._write(
                "dues",
                registration=who.registration,
                member_email="",
                kind=name,
                due_on=self._due_on(name),
                every_months="" if kind.is_cover else 12,
            )
        due_miles = self.next_service
        if "service" in who.due_in:
            due_miles = int(self.miles) + who.weekly_miles * who.due_in["service"] // 7
        self._write(
            "dues",
            registration=who.registration,
            kind="service",
            due_miles=due_miles,
            every_months=12,
            every_miles=SERVICE_MILES,
        )
        inspected_on = add_months(self._anniversary(), -12)
        if inspected_on > self.start:
            self._met("dual_controls", inspected_on, was_due_on=inspected_on)
        if who.email == MEMBER:
            asked_on = self.today - timedelta(days=45)
            self._met("other", asked_on, was_due_on=asked_on, note="Charging cable looked at", for_good="true")
        licence = next(name for name, kind in DUE_KINDS.items() if kind.lets_teach and who.grade in kind.held_by)
        in_days = who.due_in.get(licence, 400)
        self._write("dues", member_email=who.email, kind=licence, due_on=self.today + timedelta(days=in_days))
