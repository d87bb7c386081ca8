"""compare_offers FILE.toml: offers for a next car on one footing."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.db import OperationalError, ProgrammingError

from config.commands import BookCommand, DataSaysNo
from config.showing import pence_as_pounds
from costing.choosing.core.figures import Figures, ScenarioResult
from costing.choosing.core.inputs import INPUTS
from costing.choosing.core.odds import Odds
from costing.choosing.core.switching import PLACES, Switch
from costing.choosing.document.toml import BadFile, read_file
from costing.choosing.pictures import sentences
from costing.choosing.report import OffersReport
from costing.core.money import to_places, to_pounds
from instructors.models import Cooperative
from instructors.queries import cooperative


class Command(BookCommand):
    help = "Compare the offers in a file: cash flows, what if, switching values and odds."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", type=Path, metavar="FILE.toml", help="use, running costs and offers")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            report = OffersReport.of(read_file(options["file"], nation=_nation()))
        except BadFile as error:
            raise DataSaysNo(*error.faults) from error
        if options["json"]:
            self.print_json(_answer(report))
        else:
            self._print(report)

    def _print(self, report: OffersReport) -> None:
        use = report.case.use
        self.stdout.write(f"Over {use.months} months from {use.starts_on:%-d %B %Y}, cheapest first\n\n")
        self._print_result(report.base)
        for result in report.what_ifs:
            self.stdout.write(f"\nIf: {result.name}\n\n")
            self._print_result(result)
        for pair in sentences.pairs(report.switching):
            self.stdout.write(f"\n{pair.cheaper} is cheaper than {pair.than}\n")
            for words in pair.changes or ["No single figure changes that within its range."]:
                self.stdout.write(f"  {words}")
        if report.odds:
            self.stdout.write("\nOver 10,000 draws of the uncertain figures\n\n")
            self.print_table(
                ["Offer", "Cheapest in", "Four in five from", "To"],
                [
                    (
                        one.name,
                        f"{one.cheapest:.0%}",
                        pence_as_pounds(_whole(one.low)),
                        pence_as_pounds(_whole(one.high)),
                    )
                    for one in report.odds
                ],
            )
        if report.assumed:
            self.stdout.write(f"\nNot filled in, so counted as nothing: {'; '.join(report.assumed)}.\n")

    def _print_result(self, result: ScenarioResult) -> None:
        rows = sorted(result.figures, key=lambda one: one.total)
        self.print_table(
            ["Offer", "Total", "A week", "A mile", "A lesson hour", "Up front", "Hours a week to pay for it", "APR"],
            [
                (
                    one.offer.name,
                    pence_as_pounds(one.total),
                    pence_as_pounds(one.per_week),
                    None if one.per_mile is None else pence_as_pounds(one.per_mile),
                    None if one.per_lesson_hour is None else pence_as_pounds(one.per_lesson_hour),
                    pence_as_pounds(one.up_front),
                    one.hours_a_week,
                    None if one.apr is None else f"{one.apr}%",
                )
                for one in rows
            ],
        )


def _nation() -> str:
    """The co-op's nation. Before there is a book, it is the one that a new book starts with."""
    try:
        return cooperative().nation
    except (OperationalError, ProgrammingError):
        return Cooperative().nation


def _answer(report: OffersReport) -> dict[str, Any]:
    return {
        "offers": [_figures(one) for one in report.base.figures],
        "what_if": [
            {"name": result.name, "offers": [_figures(one) for one in result.figures]} for result in report.what_ifs
        ],
        "switching": [_switch(one) for one in report.switching],
        "odds": [_odds(one) for one in report.odds],
        "assumed": list(report.assumed),
    }


def _figures(one: Figures) -> dict[str, Any]:
    quoted = one.offer.quoted_apr
    return {
        "name": one.offer.name,
        "total": to_pounds(one.total),
        "per_week": to_pounds(one.per_week),
        "per_mile": _money(one.per_mile),
        "per_lesson_hour": _money(one.per_lesson_hour),
        "up_front": to_pounds(one.up_front),
        "dearest_month": {"month": one.dearest.month, "amount": to_pounds(one.dearest.pence)},
        "hours_a_week_for_the_car": one.hours_a_week,
        "apr": one.apr,
        "quoted_apr": None if quoted is None else to_places(quoted, 1),
        "present_value": to_pounds(one.present_value),
        "after_tax": to_pounds(one.after_tax),
        "cash_flow": [to_pounds(pence) for pence in one.flow.months],
        "breakdown": {part: to_pounds(pence) for part, pence in one.flow.parts.items()},
    }


def _switch(one: Switch) -> dict[str, Any]:
    kind = INPUTS[one.input]

    def shown(value: Fraction | None) -> Decimal | None:
        if value is None:
            return None
        if kind.unit == "pounds":
            return to_places(value / 100, PLACES + 2).normalize()
        return to_places(value, PLACES).normalize()

    return {
        "cheaper": one.cheaper,
        "than": one.than,
        "input": one.input,
        "offer": one.offer or None,
        "base": _text(shown(one.base)),
        "value": _text(shown(one.value)),
        "low": _text(shown(one.low)),
        "high": _text(shown(one.high)),
    }


def _odds(one: Odds) -> dict[str, Any]:
    return {
        "name": one.name,
        "cheapest": to_places(Fraction(one.cheapest), 4),
        "low": to_pounds(_whole(one.low)),
        "middle": to_pounds(_whole(one.middle)),
        "high": to_pounds(_whole(one.high)),
    }


def _money(pence: int | None) -> Decimal | None:
    return None if pence is None else to_pounds(pence)


def _whole(pence: float) -> int:
    return int(to_places(Fraction(pence), 0))


def _text(value: Decimal | None) -> str | None:
    """A number written without a power of ten."""
    return None if value is None else f"{value:f}"
