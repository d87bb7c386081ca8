"""The mails that cannot wait for the day's reminder: a defect that stops a car, and reminders that have stopped."""

from datetime import date

from django.utils import timezone

from config.site import address_of
from fleet.core import registration as marks
from fleet.core.defects import Severity
from fleet.models import Defect, DefectState, DefectStep, ReminderMail
from fleet.queries import last_finished_run, quiet_since, reminders_are_late
from fleet.reminders.letters.parts import Letter
from instructors.models import Member

_ABOUT = "defect-"


def defect_letter(mail: ReminderMail, on: date) -> Letter | None:
    """The defect as it stands now, and the step by which it came to stop its car: ``about`` names that.

    None once it is closed or no longer stops the car, or is not the recipient's concern any more.
    """
    steps = DefectStep.objects.select_related("by", "defect__car__keeper", "defect__reported_by")
    step = steps.filter(pk=int(mail.about.removeprefix(_ABOUT))).first()
    if step is None or not _still_stops_car(step.defect) or not _concerns(mail.recipient, step.defect):
        return None
    defect = step.defect
    context = {
        "recipient": mail.recipient,
        "mark": marks.show(defect.car.registration),
        "defect": defect,
        "severity_words": Severity(defect.severity).words,
        "is_dangerous": defect.severity == Severity.DANGEROUS,
        "step": step,
        "is_first_step": not defect.steps.filter(pk__lt=step.pk).exists(),
        "link": address_of("fleet:defect", defect.pk),
        "photo_link": address_of("fleet:photo", defect.photo_id) if defect.photo_id else "",
    }
    return Letter("fleet/mail/defect", context)


def _still_stops_car(defect: Defect) -> bool:
    return defect.state != DefectState.CLOSED and Severity(defect.severity).stops_car


def _concerns(recipient: Member, defect: Defect) -> bool:
    return recipient.is_coordinator or defect.car.keeper == recipient


def alarm_letter(mail: ReminderMail, on: date) -> Letter | None:
    """Since when no run has finished; None if one has meanwhile, or the recipient is no coordinator any more."""
    if not (mail.recipient.is_coordinator and reminders_are_late(timezone.now())):
        return None
    context = {
        "recipient": mail.recipient,
        "quiet_since": quiet_since(),
        "has_ever_run": last_finished_run() is not None,
        "link": address_of("fleet:reminder-log"),
    }
    return Letter("fleet/mail/alarm", context)
