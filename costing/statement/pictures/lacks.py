"""What a statement lacks: a line for each reason, or for each record that tells too little, and what mends it."""

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

from costing import wording
from costing.core.missing import has_to_come, is_to_come
from costing.statement.report import Statement
from costing.wording.mends import ToLog, ways_to_log
from fleet.core.registration import show


class LackLine(NamedTuple):
    """One line: the reason or reasons in sentences, and the one tap that takes them away, if there is one.

    ``is_key``: that tap is the thing to do first.
    """

    words: str
    way: ToLog | None
    is_key: bool


def lines_of_lacks(statement: Statement, reasons: Sequence[str], key: ToLog | None = None) -> list[LackLine]:
    """The lines of some of a statement's reasons, those that a tap takes away first; ``key`` is the thing to do first.

    All that one tap takes away is one line: all that one record does not tell, and all that one reading would.
    """
    ways = _ways(statement)
    told: dict[object, list[str]] = defaultdict(list)
    found: dict[object, ToLog | None] = {}
    for reason in reasons:
        for way in ways.get(reason, [None]):
            at = (way.address, way.mend.words) if way else reason
            told[at].append(reason)
            found[at] = way
    lines = [LackLine(_sentences(told[at]), way, _is_same(way, key)) for at, way in found.items()]
    return sorted(lines, key=lambda line: line.way is None)


def _is_same(way: ToLog | None, key: ToLog | None) -> bool:
    return way is not None and key is not None and (way.address, way.mend) == (key.address, key.mend)


def key_of(statement: Statement) -> ToLog | None:
    """What is a key among the links: the one thing to log. A record to correct is none."""
    return statement.to_log if statement.to_log and statement.to_log.record is None else None


def known_but_for_days(statement: Statement) -> bool:
    """Whether a statement lacks nothing but what comes in as days go by."""
    return is_to_come(statement.cost.missing)


def waits_for_days(statement: Statement) -> bool:
    """Whether something that it lacks comes in as days go by, so that fewer days may be known."""
    return has_to_come(statement.cost.missing)


def _ways(statement: Statement) -> dict[str, list[ToLog | None]]:
    """What takes each reason away, by its words as the statement has them."""
    ways: dict[str, list[ToLog | None]] = {}
    for report in statement.reports:
        mark = f"{show(report.car.registration)}: " if len(statement.reports) > 1 else ""
        for found in report.cost.missing:
            ways[f"{mark}{wording.missing(found)}"] = [*ways_to_log(found, report.cost, report.car)] or [None]
    return ways


def _sentences(reasons: Sequence[str]) -> str:
    return " ".join(f"{reason[:1].upper()}{reason[1:]}." for reason in reasons)
