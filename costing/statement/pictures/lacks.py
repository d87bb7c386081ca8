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
    """One line: the reason or reasons in sentences, and the one tap that takes them away, if there is one."""

    words: str
    way: ToLog | None


def lines_of_lacks(statement: Statement, reasons: Sequence[str], key: ToLog | None = None) -> list[LackLine]:
    """The lines of some of a statement's reasons; none leads where the ``key`` beside them leads.

    All that one record does not tell is one line.
    """
    ways = _ways(statement)
    told: dict[object, list[str]] = defaultdict(list)
    found: dict[object, ToLog | None] = {}
    for reason in reasons:
        for way in ways.get(reason, [None]):
            at = way.record if way and way.record is not None else reason
            told[at].append(reason)
            found[at] = None if way and key and way.address == key.address else way
    return [LackLine(_sentences(told[at], closed=way is not None), way) for at, way in found.items()]


def key_of(statement: Statement) -> ToLog | None:
    """What stands below the lines as a key: the one thing to log. A record to correct has its link in its line."""
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


def _sentences(reasons: Sequence[str], *, closed: bool) -> str:
    words = ". ".join(f"{reason[:1].upper()}{reason[1:]}" for reason in reasons)
    return f"{words}." if closed else words
