"""Whether a car has what it needs for its first lessons and for a practical test day, on the page and on paper."""

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.pdf import pdf_response, render_pdf
from config.showing import day
from fleet import queries
from fleet.actions import confirm_points
from fleet.core.findings import READING_DAYS, Finding, Readiness, Verdict, Why, readiness
from fleet.core.points import CHECK_EVERY_DAYS
from fleet.core.registration import show
from fleet.core.requirements import ANSWER_DAYS, LISTS, How
from fleet.forms import ConfirmationForm
from fleet.queries import DueReport
from fleet.wording import reasons_in_short, verdict_words
from instructors.access import MemberRequest


@read_or_write
def ready(request: MemberRequest, mark: str) -> HttpResponse:
    """A car checked against each list, and the points that somebody has to look at and answer."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    report = queries.due_report(today, cars=[car], members=[car.keeper])
    facts = queries.facts_of(car, report)
    form = ConfirmationForm(posted(request), answers=facts.answers, today=today)

    def save() -> HttpResponse:
        count = len(confirm_points(by=request.user, car=car, **form.cleaned_data))
        in_book = f"{count} answer{' is' if count == 1 else 's are'} in the book."
        words = in_book if count else "This is already in the book: nothing was added."
        return go_on(request, words, "fleet:ready", car.registration)

    lists = [in_words(readiness(points, facts)) for points in LISTS.values()]
    context = {"car": car, "lists": lists, "car_verdict": _car_verdict(report)}
    return form_page(request, "fleet/ready.html", form, save, context)


@require_safe
def ready_sheet(request: MemberRequest, mark: str, name: str) -> HttpResponse:
    """One list on paper."""
    car = queries.car_for(request.user, mark)
    if name not in LISTS:
        raise Http404
    today = timezone.localdate()
    report = queries.due_report(today, cars=[car], members=[car.keeper])
    words = in_words(readiness(LISTS[name], queries.facts_of(car, report)))
    context = {"car": car, "list": words, "car_verdict": _car_verdict(report)}
    pdf = render_pdf("fleet/pdf/ready.html", context)
    return pdf_response(pdf, f"{show(car.registration)} {name} {today}.pdf")


#: The word and the shape.
_STATES = {
    Verdict.NOT_MET: ("Not met", "off"),
    Verdict.UNKNOWN: ("Not known", "unknown"),
    Verdict.MET: ("Met", "booked"),
}
_WHY = {
    Why.RUNS_UNTIL: "Recorded until {day}.",
    Why.RAN_OUT: "Ran out on {day}.",
    Why.NEVER_HAD: "None is recorded, and it needs one from {day} on.",
    Why.IN_DOUBT: "Nobody has confirmed that what is recorded holds for its keeper.",
    Why.NO_DEFECT: "No such defect is recorded.",
    Why.DEFECT: "Since {day}: {about}.",
    Why.TREAD_ENOUGH: "All four read, the oldest reading on {day}.",
    Why.TREAD_TOO_LOW: "The {about} tyre was below it on {day}.",
    Why.TREAD_NOT_READ: "No reading is recorded of the {about} tyre.",
    Why.TREAD_READ_LONG_AGO: f"The {{about}} tyre was last read on {{day}}, more than {READING_DAYS} days ago.",
    Why.AS_ENTERED: "As entered for this car.",
    Why.CHECKED: "Checked on {day}.",
    Why.CHECKED_LONG_AGO: f"Last checked on {{day}}, more than {CHECK_EVERY_DAYS} days ago.",
    Why.SAID_YES: "Confirmed on {day}.",
    Why.SAID_NO: "Answered no on {day}.",
    Why.SAID_LONG_AGO: "Confirmed on {day}, too long ago to count.",
}
#: What to say where nothing is recorded, by the record that is missing.
_NOTHING = {
    How.DUE_ITEM: "Nothing is recorded. Enter it under what falls due.",
    How.CREDENTIAL: "Neither is recorded. The keeper enters it on their own page.",
    How.WALKAROUND: "No check is recorded.",
}


@dataclass(frozen=True, slots=True)
class FindingWords:
    """One point in words; ``shape`` names the silhouette of its state."""

    words: str
    state_words: str
    shape: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class ReadinessWords:
    """One list in words: its findings, open (not met or not known) and met."""

    name: str
    title: str
    verdict: str
    open: list[FindingWords]
    met: list[FindingWords]


def in_words(readiness: Readiness) -> ReadinessWords:
    """The verdict on one list in words, ready to show."""
    words = [(finding.verdict is Verdict.MET, _finding_words(finding)) for finding in readiness.findings]
    return ReadinessWords(
        readiness.of.name,
        readiness.of.title,
        _verdict(readiness),
        [shown for is_met, shown in words if not is_met],
        [shown for is_met, shown in words if is_met],
    )


def _car_verdict(report: DueReport) -> str:
    """The verdict on the car for lessons, with the reasons if it is off the road; empty if it is out of service."""
    for due in report.cars:
        words = verdict_words(due.verdict, show(due.registration), due.titles, report.on)
        return f"{words}: {'; '.join(reasons_in_short(due.reasons))}" if due.reasons else words
    return ""


def _verdict(readiness: Readiness) -> str:
    if readiness.is_ready:
        return "Nothing recorded against it"
    unmet, unknown = readiness.count(Verdict.NOT_MET), readiness.count(Verdict.UNKNOWN)
    parts = [f"{_points(unmet)} not met"] if unmet else []
    parts += [f"{_points(unknown)} not confirmed"] if unknown else []
    return f"Not ready: {', '.join(parts)}"


def _points(count: int) -> str:
    return f"{count} point{'' if count == 1 else 's'}"


def _finding_words(finding: Finding) -> FindingWords:
    state_words, shape = _STATES[finding.verdict]
    return FindingWords(finding.point.words, state_words, shape, _reason(finding), finding.point.source)


def _reason(finding: Finding) -> str:
    if finding.why is Why.NOTHING_RECORDED:
        return _NOTHING.get(finding.point.how, "Not answered yet.")
    about = finding.about.replace("_", " ") if finding.point.how is How.TREAD else finding.about.rstrip(".")
    words = _WHY[finding.why].format(day=day(finding.on) if finding.on else "", about=about)
    days = ANSWER_DAYS.get(finding.point.how)
    return f"{words} This counts for {days} days." if finding.why is Why.SAID_YES and days else words
