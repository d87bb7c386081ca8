"""compare_offers FILE.toml: offers for a next car on one footing."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.db import OperationalError, ProgrammingError

from config.commands import BookCommand, DataSaysNo
from config.showing import day, pence_as_pounds, percent
from costing.choosing.report import BadFile, OffersReport, PairVerdict, answer_of, report_of_file
from costing.core.catalogue.agreements import CAR_SUMS, VALUE_BACK
from costing.core.catalogue.running import RUNNING_PARTS, are_many
from costing.core.money import to_places
from instructors.models import Cooperative
from instructors.queries import cooperative


class Command(BookCommand):
    help = "Compare the offers in a file: what each costs, who is cheaper, what could happen, and what would change it."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", type=Path, metavar="FILE.toml", help="use, running costs and offers")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            report = report_of_file(options["file"], _nation())
        except BadFile as error:
            raise DataSaysNo(*error.faults) from error
        if options["json"]:
            self.print_json(answer_of(report))
        else:
            self._print(report)

    def _print(self, report: OffersReport) -> None:
        use = report.case.use
        self.stdout.write(f"Over {use.months} months from {day(use.starts_on)}\n\n")
        self._print_offers(report)
        self.stdout.write("\n")
        for one in report.verdicts:
            self.stdout.write(_verdict(one, report))
        for result in report.what_ifs:
            self.stdout.write(f"\nIf: {result.name}\n\n")
            self.print_table(
                ["Offer", "Total", "Told", "Way out"],
                [
                    (one.offer.name, _pounds(one.total), _pounds(one.told), one.way_out.replace("_", " "))
                    for one in result.figures
                ],
            )
            if result.takings_lost is not None:
                self.stdout.write(f"Takings lost beside that: {pence_as_pounds(result.takings_lost)}")
        self._print_switching(report)
        self._print_odds(report)

    def _print_offers(self, report: OffersReport) -> None:
        self.print_table(
            ["Offer", "Total", "Told", "Expected", "A week", "A lesson hour", "At the start", "Hours a week", "APR"],
            [
                (
                    one.offer.name,
                    _pounds(one.total),
                    _pounds(one.told),
                    _pounds(report.expected[one.offer.name]),
                    _pounds(one.per_week),
                    _pounds(one.per_lesson_hour),
                    _pounds(one.up_front),
                    one.hours_a_week,
                    None if one.apr is None else percent(one.apr),
                )
                for one in report.figures
            ],
        )
        for one in report.figures:
            if one.not_told:
                self.stdout.write(f"Not told of {one.offer.name}: {_parts(one.not_told)}.")

    def _print_switching(self, report: OffersReport) -> None:
        if not report.switching:
            return
        self.stdout.write("\nWhere the cheaper of two changes\n\n")
        keys = ("cheaper", "than", "input", "offer", "base", "value", "low", "high")
        self.print_table(
            ["Cheaper", "Than", "Input", "Of", "Planned", "Changes at", "Tried from", "To"],
            [[_shown(one[key]) for key in keys] for one in answer_of(report)["switching"]],
        )

    def _print_odds(self, report: OffersReport) -> None:
        if report.odds is None:
            self.stdout.write(f"\nNo odds: {report.odds_reason}.")
            return
        self.stdout.write("\nOver 10,000 draws of what is uncertain\n\n")
        self.print_table(
            ["Offer", "Cheapest in", "Four in five from", "To"],
            [
                (
                    one.name,
                    percent(to_places(one.cheapest * 100, 1)),
                    pence_as_pounds(one.low),
                    pence_as_pounds(one.high),
                )
                for one in report.odds
            ],
        )
        held = [f"{one.input} of {one.offer}" if one.offer else one.input for one in report.without_range]
        if held:
            self.stdout.write(f"Without a range, so the same in every draw: {_listed([*dict.fromkeys(held)])}.")


def _nation() -> str:
    """The co-op's nation. Before there is a book, it is the one that a new book starts with."""
    try:
        return cooperative().nation
    except (OperationalError, ProgrammingError):
        return Cooperative().nation


def _verdict(one: PairVerdict, report: OffersReport) -> str:
    """What can be said of two offers, in a sentence."""
    if_same = (
        f" if {_parts(one.if_same)} {'cost' if are_many(one.if_same) else 'costs'} the same for both"
        if one.if_same
        else ""
    )
    if one.cheaper:
        than = one.b if one.cheaper == one.a else one.a
        whatever = ", whatever is not told" if one.of else ""
        return f"{one.cheaper} is cheaper than {than}{if_same}{whatever}."
    if one.is_settled:
        return f"{one.a} and {one.b} cost the same{if_same}."
    if one.room is None or one.room_of is None:
        return f"Which of {one.a} and {one.b} is cheaper hangs on {_parts(one.of)}{if_same}."
    than, room = one.b if one.room_of == one.a else one.a, pence_as_pounds(one.room)
    cheaper = f"{one.room_of} is cheaper than {than} as long as"
    if one.is_fetch:
        return f"{cheaper} its car fetches more than {room}{if_same}."
    untold = next(figures.not_told for figures in report.figures if figures.offer.name == one.room_of)
    costs = [part for part in untold if part in one.of and part != "value"]
    free = f", its car counted as worth nothing{',' if if_same else ''}" if "value" in untold else ""
    stay = "together stay" if len(costs) > 1 else "stay" if are_many(costs) else "stays"
    return f"{cheaper} its {_parts(costs)} {stay} below {room} over the {report.case.use.months} months{free}{if_same}."


def _parts(names: Sequence[str]) -> str:
    """The names of parts in a sentence."""
    return _listed([_part(name) for name in names])


def _part(name: str) -> str:
    if name in RUNNING_PARTS:
        return RUNNING_PARTS[name].missing
    words = VALUE_BACK.words if name == "value" else CAR_SUMS[name].words
    return words[0].lower() + words[1:]


def _listed(words: Sequence[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _pounds(pence: int | None) -> str | None:
    return None if pence is None else pence_as_pounds(pence)


def _shown(value: Any) -> str:
    if isinstance(value, list):
        return " to ".join(map(str, value))
    return "" if value is None else str(value)
