"""The pot in sentences: what to put by, where one stands, what an illness asks for."""

from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal

from config.showing import day, in_words, near_day, pence_as_pounds, pounds, within
from costing.core.catalogue.bills import BILL_KINDS
from costing.core.catalogue.costs import FINANCE
from costing.planning.core.bills import Bill, DayFrom, Idle, IdleQuote, Lacks, NotKnown, Source
from costing.planning.report import PotReport
from fleet.core.registration import show

_MET = "every bill of the next 12 months is met"
#: Of more that is not known, the answer gives the number.
_MOST_NAMED = 3
#: The months of a cover that goes without saying.
_YEAR = 12
_SOURCES = {
    Source.QUOTE: "your quote",
    Source.TYPED: "as you entered it",
    Source.LAST_PRICE: "last price",
    Source.LAST_PAYMENTS: "what the last year’s payments came to, if paid at once",
    Source.WEEKLY: "weekly, as last year",
    Source.MONTHLY: "monthly, as last year",
    Source.QUARTERLY: "quarterly, as last year",
    Source.REPEAT: "repeats",
    Source.INSTALMENT: "instalment",
    Source.ROLLS: "the hire runs on past its term",
    Source.DEPOSIT: "by the agreement",
    Source.FINAL: "final payment",
}
_DAYS = {
    DayFrom.RECORDED: "",
    DayFrom.TERMS: "",
    DayFrom.BOOKED: "booked",
    DayFrom.RULE: "the first by the law’s rule",
    DayFrom.MILES: "by forecast, from the odometer",
    DayFrom.TREAD: "by forecast, from tread readings",
}
#: Why a quote does not count, of one car or of several.
_WHY_IDLE = {
    Idle.NEWER: "a newer quote does",
    Idle.OWN: "its own quote does",
    Idle.REPEATS: "what repeats pays for it",
    Idle.PAID: "paid since",
}
#: What shows that something is due, though no day was recorded.
_READ_OFF = {DayFrom.MILES: "the odometer", DayFrom.TREAD: "the tread readings"}


def answer_of(report: PotReport) -> str:
    """Say how much to put by each week, and what the answer leaves out."""
    smallest, left_out = report.smallest, without(report.bills.not_known)
    met = f"{_MET}{left_out}"
    if report.plan is None:
        total, evenly = pence_as_pounds(report.total), pence_as_pounds(report.evenly)
        return f"The bills of the next 12 months come to {total}: {evenly} a week{left_out}."
    weekly = pence_as_pounds(smallest.weekly)
    if smallest.short and smallest.short_by:
        missing = f"{pence_as_pounds(smallest.short)} is missing for the bills up to {_soon(smallest.short_by, report)}"
        then = f"Put that in, then {weekly} a week" if smallest.weekly else "Put that in"
        return f"{missing}. {then}, and {met}."
    if not smallest.weekly:
        return f"What is in the pot is enough: {met}."
    return f"Put by {weekly} a week and {met}."


def without(not_known: Sequence[NotKnown]) -> str:
    """Say which bills are left out because something of them is not known; "" if none is."""
    if not not_known:
        return ""
    names = [f"the {within(one.title)}" for one in not_known]
    named = list(dict.fromkeys(names))
    is_one = len(not_known) == 1
    lacks = {Lacks.DAY if one.lacks is Lacks.FITTED else one.lacks for one in not_known}
    if len(named) > _MOST_NAMED:
        words = f"{in_words(len(not_known))} bills"
    else:
        words = " and ".join(filter(None, [", ".join(named[:-1]), named[-1]]))
    if lacks == {Lacks.PRICE}:
        return f", without {words}, whose {'price is' if is_one else 'prices are'} not known"
    if lacks == {Lacks.DAY}:
        return f", without {words}, whose {'day is' if is_one else 'days are'} not known"
    return f", without {words}, of which {'something' if is_one else 'the price or the day'} is not known"


def why_so_much(report: PotReport) -> str:
    """Say which bills ask for the weekly sum, and what would do with more in hand; "" if an even share is asked."""
    smallest = report.smallest
    if report.plan is None:
        return _from_empty(report)
    if smallest.because is None:
        return ""
    words = f"It is the bills up to {_soon(smallest.because, report)} that make it so much."
    if report.evenly < smallest.weekly:
        words += (
            f" With {pence_as_pounds(report.for_even)} more in the pot today, {pence_as_pounds(report.evenly)} a week "
            "would do: a week’s share of the year’s bills."
        )
    return words


def _from_empty(report: PotReport) -> str:
    smallest = report.smallest
    words = "How much you must put by depends on what is in the pot."
    if smallest.short and smallest.short_by:
        short = pence_as_pounds(smallest.short)
        return f"{words} From an empty one, {short} is missing for the bills up to {_soon(smallest.short_by, report)}."
    if smallest.because is None:
        return words
    weekly, because = pence_as_pounds(smallest.weekly), _soon(smallest.because, report)
    return f"{words} From an empty one it is {weekly} a week, because of the bills up to {because}."


def standing_of(report: PotReport) -> str:
    """Say whether the member is ahead or behind with what they put by; "" if they have not said how much."""
    if report.standing is None or report.plan is None or report.plan.weekly is None:
        return ""
    weekly = f"£{report.plan.weekly:,.2f}"
    if report.standing < 0:
        behind = pence_as_pounds(-report.standing)
        return f"You put by {weekly} a week: you are {behind} behind. With that much more in the pot today it would do."
    if report.standing == 0:
        return f"You put by {weekly} a week: you are just on course."
    return f"You put by {weekly} a week: you are {pence_as_pounds(report.standing)} ahead of what the bills need."


def end_of(report: PotReport) -> str:
    """Say what the final payment does to the answer, where the member has not said if they make it; else ""."""
    if report.if_it_goes_back is None:
        return ""
    final = next(bill for bill in report.bills.known if bill.may_go_back)
    back = report.if_it_goes_back
    short = f"{pence_as_pounds(back.short)} now and " if back.short else ""
    return (
        f"The final payment of {pence_as_pounds(final.pence)} on {day(final.on)} is counted, because you have not "
        f"said whether you keep the car. If it goes back, {short}{pence_as_pounds(back.weekly)} a week is enough; what "
        "extra miles or damage may then cost is not counted."
    )


def illness_of(report: PotReport) -> str:
    """Say what it takes to survive the illness that is planned for; "" if none is."""
    ill = report.illness
    if ill is None:
        return ""
    weeks = "a week" if ill.weeks == 1 else f"{in_words(ill.weeks)} weeks"
    pauses = any(bill.pauses for bill in report.bills.known)
    runs_on = f"Nothing is put by in that time, and {'only the hire pauses' if pauses else 'every bill runs on'}."
    # What is needed rests on the smallest weekly sum, which is not what the member said they put by.
    weekly = (
        f", at {pence_as_pounds(report.smallest.weekly)} in each of the other weeks" if report.smallest.weekly else ""
    )
    begins = f"If you are ill for {weeks}, whenever that begins,"
    if not ill.extra:
        return f"{begins} the bills are met all the same{weekly}. {runs_on}"
    worst = f"The worst would be to fall ill {_falls_on(ill.worst_from, report)}."
    return f"{begins} {_put_in_for(ill.extra, report.smallest.short)}{weekly}. {worst} {runs_on}"


def holidays_of(report: PotReport) -> str:
    """Say in how many weeks nothing is put by."""
    count = len(report.weeks.off)
    if not count and report.plan and report.plan.holidays:
        return "No holiday that you entered takes up a week of the 12 months: something is put by in every week."
    if not count:
        return "No holiday is entered: something is put by in every week."
    weeks = "1 week" if count == 1 else f"{count} weeks"
    return f"In {weeks} of the 12 months you are on holiday and put nothing by: the other weeks make up for it."


def _put_in_for(extra: int, short: int) -> str:
    """Say what an illness takes beyond what is in the pot, and what of it is missing without any illness."""
    if extra == short:
        return f"the {pence_as_pounds(short)} that is missing today sees you through"
    if short:
        missing = f"of which {pence_as_pounds(short)} is missing already today"
        return f"{pence_as_pounds(extra)} in all, {missing}, sees you through"
    return f"{pence_as_pounds(extra)} more in the pot today sees you through"


def repairs_words(pounds_paid: Decimal) -> str:
    """Say that repairs are not among the bills, and what the member's own came to in the last 12 months."""
    words = "Repairs come without notice, so they are not among the bills"
    if pounds_paid <= 0:
        return f"{words}."
    return f"{words}. Yours came to {pounds(pounds_paid)} in the last 12 months: a sum to think of besides."


def balance_of(report: PotReport) -> str:
    """Say from what the answer starts."""
    if report.plan is None:
        return "You have not said yet what is in the pot."
    told = f"{pence_as_pounds(report.balance)} in the pot, as you said on {day(report.plan.balance_on)}."
    return f"{told} That is a while ago: say what is in it today." if report.is_old else told


def how_known(bill: Bill) -> str:
    """Say where a bill's sum and day come from: "last price, 3 February 2026", "last time £925.00 in two payments"."""
    source = _SOURCES[bill.source]
    if bill.number and bill.source in {Source.INSTALMENT, Source.REPEAT}:
        what = "instalment" if bill.source is Source.INSTALMENT else "payment"
        source = f"{what} {bill.number} of {bill.out_of}"
    if bill.source is Source.LAST_PRICE and bill.parts > 1:
        source = f"last time {pence_as_pounds(bill.pence)} in {in_words(bill.parts)} payments"
    elif bill.source is Source.LAST_PRICE and bill.told_on:
        source = f"{source}, {day(bill.told_on)}"
    source += _for_months(bill)
    if bill.may_go_back:
        source = f"{source}, if you keep the car"
    late = f"was due on {day(bill.was_due_on)}" if bill.was_due_on else _DAYS[bill.day]
    return "; ".join(filter(None, [source, late, _in_the_book(bill)]))


def _for_months(bill: Bill) -> str:
    """Say for how long a price was, if not for a year: a policy of seven months comes twice in the year."""
    if bill.months in {0, _YEAR}:
        return ""
    months = "a month" if bill.months == 1 else f"{in_words(bill.months)} months"
    return f", for {months} as last time" if bill.source is Source.QUOTE else f", for {months}"


def _in_the_book(bill: Bill) -> str:
    """Say that fewer instalments are logged than were due: whether any was missed, the book cannot know."""
    if bill.logged >= bill.were_due:
        return ""
    ask = "ask the lender" if bill.category == FINANCE.name else "ask the hire company"
    if bill.were_due == 1:
        return f"the one before it is not in the book: log it, or {ask}"
    if not bill.logged:
        return f"none of the {bill.were_due} before it is in the book: log them, or {ask}"
    return f"{bill.logged} of {bill.were_due} {'is' if bill.logged == 1 else 'are'} in the book: log the rest, or {ask}"


def unknown_of(one: NotKnown, today: date) -> str:
    """Say what is not known of a bill."""
    if one.lacks is Lacks.TERMS:
        return "The agreement does not say what is paid, how often and how many times"
    if one.lacks is Lacks.AGREEMENT:
        return "You paid it of late, and neither an agreement nor what repeats says what is still to come"
    if one.paid_on:
        return f"You paid for tyres on {day(one.paid_on)}, and the book does not have them as fitted"
    if one.quote:
        return "Your quote has no day, and the book has none"
    if one.on is None:
        return "The book has no day for it"
    if one.was_due_on:
        return f"Was due on {day(one.was_due_on)}, and its price is not known"
    if one.on == today and one.day in _READ_OFF:
        return f"Due now by {_READ_OFF[one.day]}, and its price is not known"
    return "; ".join(filter(None, [day(one.on), _DAYS[one.day], "its price is not known"]))


def idle_of(idle: IdleQuote) -> str:
    """Say that a quote does not count, for which cars if it counts for others, and why."""
    if not idle.is_idle:
        why = f": {_WHY_IDLE[idle.why]}" if idle.why else ""
        return f"does not count for {' and '.join(map(show, idle.of))}{why}"
    if idle.why is None:
        return "does not count for any of your cars"
    if idle.why is Idle.NEWER:
        return f"does not count: your newer quote of {pence_as_pounds(idle.pence)} does"
    if idle.why is Idle.OWN and len(idle.of) == 1:
        return f"does not count: your quote of {pence_as_pounds(idle.pence)} for {show(idle.of[0])} does"
    if idle.why is Idle.OWN:
        return "does not count: each of your cars has a quote of its own"
    return f"does not count: {_WHY_IDLE[idle.why]}"


def included_of(not_known: Sequence[NotKnown], hired: Collection[str]) -> str:
    """Say what to do if a rental includes what is not known, as far as one may; "" if it can include nothing of it.

    ``hired`` are the marks of the cars that are held on hire or rental.
    """
    titles = dict.fromkeys(
        f"the {within(one.title)}"
        for one in not_known
        if one.of in hired and not one.quote and not one.paid_on and one.kind and BILL_KINDS[one.kind].falls_due
    )
    if not titles:
        return ""
    if len(titles) > _MOST_NAMED:
        return "If your rental includes any of the car’s bills, enter a quote of £0 for it."
    words = " or ".join(filter(None, [", ".join([*titles][:-1]), [*titles][-1]]))
    return f"If your rental includes {words}, enter a quote of £0."


def titled(title: str, of: str, *, several: bool) -> str:
    """Return the title of a bill, with the mark of its car if the member has several."""
    return f"{title}, {show(of)}" if several and of else title


def _falls_on(on: date, report: PotReport) -> str:
    return "today" if on == report.today else f"on {_soon(on, report)}"


def _soon(on: date, report: PotReport) -> str:
    return near_day(on, report.today)
