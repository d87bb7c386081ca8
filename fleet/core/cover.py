"""Whether insurance and tax hold for whoever keeps the car now, as far as the book knows."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from fleet.core.days import ONE_DAY
from fleet.core.due import DayUnknown


class Holder(NamedTuple):
    """Who keeps a car: the member's id and grade, and the first day of this time.

    ``since`` is None if nobody kept the car before. ``formerly`` are the ids of all who did. ``registered`` is the id
    of the registered keeper, whom the vehicle tax belongs to; None if that is nobody of the book, or not known.
    """

    keeper: int
    grade: str
    since: date | None = None
    formerly: frozenset[int] = frozenset()
    registered: int | None = None

    def did(self, on: date, by: int | None) -> bool:
        """Whether something done on that day was done in this time by its keeper, who counts where nobody is named.

        The day of the handover is the former keeper's, but the taker may have seen to it that day.
        """
        if by not in (self.keeper, None):
            return self.since is None
        return self.since is None or on >= self.since or (on == self.since - ONE_DAY and by is not None)


class Time(NamedTuple):
    """The first day of a member's time with a car."""

    first: date
    keeper: int


def holder_on(times: Sequence[Time], on: date, present: Holder, grades: Mapping[int, str]) -> Holder:
    """Who keeps a car on ``on``, by its times, oldest first; without any, ``present`` kept it for all days.

    Before the first time it is the first keeper's, and after one that has ended its last keeper's. Two times of one
    member with nobody's between them are no handover. ``grades`` are by member.
    """
    begun = [time for time in times if time.first <= on] or list(times[:1])
    if not begun:
        return present
    keeper, before = begun[-1].keeper, [time for time in begun if time.keeper != begun[-1].keeper]
    since = next(time.first for time in begun if not before or time.first > before[-1].first)
    formerly = frozenset(time.keeper for time in begun if time.first < since)
    return Holder(keeper, grades[keeper], since if before else None, formerly, present.registered)


class PolicyAnswer(NamedTuple):
    """What somebody found on one day: whether the policy covers tuition by a member of that grade; empty: not told."""

    on: date
    covers: bool
    grade: str = ""
    by: int | None = None


def no_tuition_since(answers: Sequence[PolicyAnswer], keeping: Holder) -> date | None:
    """The day on which the insurance was found to leave out tuition, if that is the latest answer; oldest first.

    After a handover a "no" from before it was said of another policy: nothing is known of the taker's.
    """
    if not answers or answers[-1].covers:
        return None
    last = answers[-1]
    is_of_this_time = keeping.since is None or last.on >= keeping.since or keeping.did(last.on, last.by)
    return last.on if is_of_this_time else None


def tuition_doubt(answers: Sequence[PolicyAnswer], keeping: Holder) -> DayUnknown | None:
    """Why it is not known that the insurance covers tuition by the keeper; None if the policy was found to, or not to.

    ``answers`` are oldest first. What was found before a "no" counts no longer.
    """
    if no_tuition_since(answers, keeping):
        return None
    found: list[PolicyAnswer] = []
    for answer in answers:
        found = [*found, answer] if answer.covers else []
    of_grade = [answer for answer in found if answer.grade == keeping.grade]
    if any(keeping.did(answer.on, answer.by) for answer in of_grade):
        return None
    return DayUnknown.TUITION_NOT_CONFIRMED if keeping.since is None else DayUnknown.POLICY_OF_FORMER_KEEPER


class TaxPaid(NamedTuple):
    """The car was taxed on that day; ``by`` is the member who did it, None if nobody is named."""

    on: date
    by: int | None = None


def tax_doubt(paid: Iterable[TaxPaid], keeping: Holder) -> DayUnknown | None:
    """Why it is not known that the car is taxed: tax does not go with a car to another registered keeper.

    After a handover it holds if the registered keeper stayed the same: another member than the one who has the car now,
    or this one if the car has come back. Of a registered keeper who is no member, the book does not know.
    """
    if keeping.since is None or keeping.registered not in (None, keeping.keeper):
        return None
    if keeping.registered in keeping.formerly:
        return None
    return None if any(keeping.did(tax.on, tax.by) for tax in paid) else DayUnknown.TAX_OF_FORMER_KEEPER
