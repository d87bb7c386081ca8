"""What looking over a car has found, in sentences."""

from collections.abc import Iterator
from datetime import date

from config.showing import day, whole
from costing.choosing.core.look_over import LookOver
from costing.choosing.core.mot_history import MotHistory, Uncovered
from costing.choosing.pictures.wording import quoted
from costing.core.periods import ONE_DAY


def findings(found: LookOver, history: MotHistory, today: date) -> list[str]:
    """All that speaks against a car: the points answered with no, what its MOT history tells, and the work noted."""
    answers = [f"{point.no}." for point in found.against]
    work = [f"{one.words}{'' if one.pence is None else f': about {quoted(one.pence)}'}." for one in found.work]
    return [*answers, *_history_words(history, today), *work]


def _history_words(found: MotHistory, today: date) -> Iterator[str]:
    """What an MOT history tells, gravest first: one sentence each."""
    if found.failed_last is not None:
        yield f"It failed its last test, on {day(found.failed_last)}, and no later pass is typed in."
    for fall in found.falls:
        fewer = whole(fall.before.miles - fall.after.miles)
        yield (
            f"On {day(fall.after.read_on)} it showed {whole(fall.after.miles)} miles, "
            f"{fewer} fewer than on {day(fall.before.read_on)}."
        )
    for jump in found.jumps:
        yield (
            f"It ran {whole(jump.after.miles - jump.before.miles)} miles from {day(jump.before.read_on)} to "
            f"{day(jump.after.read_on)}. Between its other tests it ran about {whole(jump.usual)} a year."
        )
    yield from (_uncovered_words(gap) for gap in found.uncovered)
    for returned in found.returned:
        days = f"{', '.join(day(one) for one in returned.days[:-1])} and {day(returned.days[-1])}"
        yield f"“{returned.words}” came back: it was noted on {days}."
    if found.runs_out is not None and found.runs_out[1] < today:
        yield f"Its last pass ran out by {day(found.runs_out[1])} at the latest."


def runs_out_words(found: MotHistory, today: date) -> str:
    """When the last pass runs out, as far as the rows tell; empty if they don't, or if it has run out for certain."""
    if found.runs_out is None or found.runs_out[1] < today:
        return ""
    earliest, latest = found.runs_out
    if earliest < today:
        return f"Its last pass runs out by {day(latest)} and may have run out already: look at the certificate."
    return f"Its last pass runs out between {day(earliest)} and {day(latest)}: the certificate says when."


def _uncovered_words(gap: Uncovered) -> str:
    if gap.first_needed:
        return (
            f"It needed its first MOT by {day(gap.first)} if it was new when first registered. "
            f"The first pass typed in is of {day(gap.last + ONE_DAY)}."
        )
    days = f"{day(gap.first)} to {day(gap.last)}" if gap.first < gap.last else day(gap.first)
    return f"No pass typed in can cover {days}: a row is missing, or it had no MOT then. Ask why."
