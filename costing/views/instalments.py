"""What an agreement proposes to enter by itself, in words, and what falls due besides the usual sum."""

from datetime import date
from typing import NamedTuple

from config.showing import day, pence_as_pounds, pounds
from costing.core.periods import ONE_DAY
from costing.core.repeats import dues_between, next_dues
from costing.models import Agreement, Repeat
from costing.queries.repeats import proposal_of, repeating_of, running_repeat_of


class RepeatOffer(NamedTuple):
    """What an agreement has its member pay again and again, in words, and what repeats for it already."""

    agreement: Agreement
    running: Repeat | None
    words: str
    past_count: int


def repeat_offer(agreement: Agreement, today: date) -> RepeatOffer | None:
    """Return what an agreement proposes to repeat; None if it has no instalments, or none to come."""
    proposal = proposal_of(agreement)
    if proposal is None:
        return None
    running = running_repeat_of(agreement)
    [first, *_], repeating = next_dues(repeating_of(proposal), None, 1), repeating_of(proposal)
    every = proposal.get_interval_display().lower()
    count = f"{proposal.payments} payments" if proposal.payments else "Payments"
    words = f"{count} of {pounds(proposal.amount)}, {every}, the first on {day(first.on)}."
    goes_on = [] if proposal.payments else ["It goes on until you stop it, as the hire does."]
    past = dues_between(repeating, None, today - ONE_DAY)
    if running is None and len(past) == proposal.payments:
        return None
    return RepeatOffer(agreement, running, " ".join([words, *goes_on, *extras_of(proposal)]), len(past))


def extras_of(repeat: Repeat) -> list[str]:
    """Say what falls due besides: fees with the first, the final payment with the last, a new sum."""
    repeating = repeating_of(repeat)
    said = []
    if repeat.fees:
        [first] = next_dues(repeating, None, 1)
        said.append(f"With the fees the first is {pence_as_pounds(first.amount)}.")
    if repeat.final_payment and repeat.payments:
        last = next_dues(repeating, None, repeat.payments)[-1]
        said.append(f"With the final payment the last, on {day(last.on)}, is {pence_as_pounds(last.amount)}.")
        said.append("Stop it before then if you do not make that payment.")
    if repeat.next_amount and repeat.next_amount_from:
        said.append(f"From {day(repeat.next_amount_from)} on it is {pounds(repeat.next_amount)}.")
    return said
