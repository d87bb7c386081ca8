"""What the page of the weekly pot shows: sentences, a column a month, and the bills behind each."""

from collections import Counter
from datetime import date
from typing import NamedTuple
from urllib.parse import urlencode

from django.urls import reverse

from config.charts.months import Column, Group, MonthsStacked
from config.showing import day, in_words, pence_as_pounds, within
from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.records import Period
from costing.planning.core.bills import Bill, Lacks, NotKnown
from costing.planning.pictures.pot_words import (
    answer_of,
    balance_of,
    end_of,
    holidays_of,
    how_known,
    illness_of,
    standing_of,
    titled,
    unknown_of,
    why_so_much,
)
from costing.planning.report import PotReport
from costing.planning.services.pot import MonthAhead

#: The dearest months are named by what they are dear for.
_MOST_NOTES = 2


class BillRow(NamedTuple):
    """One bill: what for, its day, where it comes from, and its sum."""

    title: str
    when: str
    how: str
    sum: str


class MonthRow(NamedTuple):
    """One month ahead: its days, how many bills, what they come to, what is put by, the least in the pot."""

    title: str
    number: str
    total: str
    put_by: str
    lowest: str
    bills: tuple[BillRow, ...]


class UnknownRow(NamedTuple):
    """A bill of which something is not known, and the address that mends it, with its words."""

    title: str
    why: str
    to: str
    do: str


class PotPage(NamedTuple):
    """All that the page shows; of the sentences, those that are empty are left out."""

    answer: str
    balance: str
    why: str
    standing: str
    end: str
    illness: str
    holidays: str
    picture: MonthsStacked
    columns: str
    months: tuple[MonthRow, ...]
    total: str
    unknown: tuple[UnknownRow, ...]


def pot_page(report: PotReport) -> PotPage:
    """Return what the page shows of a report that has bills."""
    several = len(report.cars) > 1
    return PotPage(
        answer_of(report),
        balance_of(report),
        why_so_much(report),
        standing_of(report),
        end_of(report),
        illness_of(report),
        holidays_of(report),
        _picture(report),
        _columns(report),
        tuple(_month(month, several=several) for month in report.months),
        pence_as_pounds(report.total),
        unknown_rows(report),
    )


def unknown_rows(report: PotReport) -> tuple[UnknownRow, ...]:
    """Return the bills of which something is not known, each with where to mend it."""
    several = len(report.cars) > 1
    return tuple(_unknown(one, report.today, several=several) for one in report.bills.not_known)


def _month(month: MonthAhead, *, several: bool) -> MonthRow:
    count = len(month.bills)
    return MonthRow(
        _days(month.days),
        "no bill" if not count else f"{in_words(count)} bill{'s' if count > 1 else ''}",
        pence_as_pounds(month.total),
        pence_as_pounds(month.put_by),
        pence_as_pounds(month.lowest),
        tuple(_row(bill, several=several) for bill in month.bills),
    )


def _row(bill: Bill, *, several: bool) -> BillRow:
    return BillRow(
        titled(bill.title, bill.of, several=several), day(bill.on), how_known(bill), pence_as_pounds(bill.pence)
    )


def _unknown(one: NotKnown, today: date, *, several: bool) -> UnknownRow:
    title, why = titled(one.title, one.of, several=several), unknown_of(one, today)
    if one.lacks is Lacks.FITTED:
        return UnknownRow(title, why, reverse("fleet:tyres-replaced", args=[one.of]), "Enter the set as fitted")
    if one.quote:
        return UnknownRow(title, why, reverse("costing:pot-bill-correct", args=[one.quote]), "Give the day")
    if one.lacks is Lacks.TERMS:
        return UnknownRow(title, why, reverse("costing:car-cost", args=[one.of]), "See the agreement")
    if one.lacks is Lacks.AGREEMENT:
        return UnknownRow(title, why, reverse("costing:agreement-add", args=[one.of]), "Enter the agreement")
    asked = {"kind": one.kind, "car": one.of}
    return UnknownRow(title, why, f"{reverse('costing:pot-bill-add')}?{urlencode(asked)}", "Enter a quote")


def _days(days: Period) -> str:
    """Write the days of a month ahead without their year: 26 November to 25 December."""
    return f"{days.first.day} {days.first:%B} to {days.last.day} {days.last:%B}"


def group_of(bill: Bill) -> CostGroup:
    """Return the group in whose tone a bill is drawn."""
    return COST_CATEGORIES[bill.category].group if bill.category else CostGroup.REST


def _picture(report: PotReport) -> MonthsStacked:
    dearest = sorted(report.months, key=lambda month: -month.total)[:_MOST_NOTES]
    found = {group_of(bill) for bill in report.bills.known}
    return MonthsStacked(
        title=f"The dearest month: {_days(dearest[0].days)}, {pence_as_pounds(dearest[0].total)}",
        groups=tuple(Group(group.value, group.words, group.short_words) for group in CostGroup if group in found),
        columns=tuple(_column(month, is_noted=month in dearest) for month in report.months),
        tells_last=False,
    )


def _column(month: MonthAhead, *, is_noted: bool) -> Column:
    """One month, called by the calendar month in which it begins; ``is_noted``: what it is dear for is named."""
    slices, named = Counter[CostGroup](), Counter[str]()
    for bill in month.bills:
        slices[group_of(bill)] += bill.pence
        named[bill.title] += bill.pence
    # A month without a bill is known to have none.
    told = {group.value: pence for group, pence in slices.items()} or {CostGroup.REST.value: 0}
    note = within(named.most_common(1)[0][0]) if is_noted and named else ""
    short = f"{month.days.first:%b}"
    return Column(_days(month.days), short, short[0], told, note)


def _columns(report: PotReport) -> str:
    """Say which days a column has; "" if they are calendar months."""
    first = report.months[0].days
    if first.first.day == 1:
        return ""
    named = "Each column is a month from today’s date on, named by the month in which it begins"
    return f"{named}: the first is {_days(first)}."
