"""A statement as a CSV file: its figures, its lines, and the entries of each, to the penny those of its page."""

import csv
import io
from collections.abc import Iterator

from costing.archive.cells import text
from costing.core.records import Period
from costing.plain import figures, money
from costing.statement.pictures.elsewhere import elsewhere_of
from costing.statement.pictures.entries import EntryLine, lines_of
from costing.statement.pictures.page import out_of_service
from costing.statement.report import Statement, StatementLine
from fleet.core.registration import show

_NO_CAR_EVER = "You never kept a car."
_WORDS = text(500)
_COLUMNS = ("row", "name", "words", "car", "day", "rule", "true_cost", "money_out", "value")
#: Of the figures, what the lines of the file say already, or rows of their own.
_ELSEWHERE = frozenset({"by_category", "true_cost", "money_out", "missing"})


def as_csv(period: Period, statement: Statement | None) -> str:
    """Return the statement of a period as UTF-8 CSV with a header line: days ISO, money in pounds with two decimals.

    Each row is a ``figure``, what is ``missing`` of the figures, a ``note`` of what is in none of them, a ``line`` of a
    category, an ``entry`` of the line above it, or the ``total``. An absent figure is an empty cell. Of days without a
    car, and without a statement because the member never kept one, there are no figures: one row says why. Words that a
    spreadsheet would take for a formula begin with an apostrophe, as in an archive.
    """
    out = io.StringIO()
    table = csv.DictWriter(out, _COLUMNS, lineterminator="\n", restval="")
    table.writeheader()
    for row in _rows(period, statement):
        table.writerow({name: "" if cell is None else cell for name, cell in row.items()})
    return out.getvalue()


def _rows(period: Period, statement: Statement | None) -> Iterator[dict[str, object]]:
    told: dict[str, object] = {"from": period.first, "to": period.last, "cars": ""}
    missing: tuple[str, ...] = (out_of_service(statement) if statement else _NO_CAR_EVER,)
    if statement and statement.concerns_period:
        missing = statement.missing
        told["cars"] = ", ".join(show(car.registration) for car in statement.cars)
        told |= {name: value for name, value in figures(statement, ()).items() if name not in _ELSEWHERE}
        told["litres_per_100_km"] = statement.litres_per_100_km
        told["estimated"] = " ".join(statement.cost.estimated)
    yield from ({"row": "figure", "name": name, "value": value} for name, value in told.items())
    for reason in missing:
        yield {"row": "missing", "words": _WORDS.write(reason)}
    for sentence in elsewhere_of(statement) if statement else ():
        yield {"row": "note", "words": _WORDS.write(sentence)}
    if statement and statement.concerns_period:
        yield from _sums(statement)


def _sums(statement: Statement) -> Iterator[dict[str, object]]:
    period, cost = statement.period, statement.cost
    for line in statement.lines:
        yield _line(line)
        for entry in lines_of(line.entries, period):
            yield _entry(line, entry)
    yield {"row": "total", "true_cost": money(cost.true_cost), "money_out": money(cost.money_out)}


def _line(line: StatementLine) -> dict[str, object]:
    return {
        **{"row": "line", "name": line.category, "words": _WORDS.write(line.label), "rule": _WORDS.write(line.source)},
        **{"true_cost": money(line.pence), "money_out": money(line.money_out)},
    }


def _entry(line: StatementLine, entry: EntryLine) -> dict[str, object]:
    return {
        **{"row": "entry", "name": line.category, "words": _WORDS.write(entry.title), "car": entry.mark},
        **{"day": entry.on, "rule": _WORDS.write(entry.rule)},
        **{"true_cost": money(entry.pence), "money_out": money(entry.paid)},
    }
