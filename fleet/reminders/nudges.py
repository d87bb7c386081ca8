"""Who has logged nothing for a week and gets a word about it, and the link that switches that off.

It goes in the mail of the day, or in one of its own if there is nothing else to say. Nobody but the member hears of it.
"""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from typing import NamedTuple, Protocol, cast

from django.conf import settings
from django.core.signing import BadSignature, Signer
from django.db.models import Max
from django.utils.module_loading import import_string

from config.site import address_of
from fleet.core.quiet import Quiet, quiet_on
from fleet.models import Car, Notice
from fleet.queries import keeperships_of_cars, recorded_readings
from fleet.queries.access import in_service_after
from fleet.reminders.matters import NoticeKey
from instructors.models import Member
from instructors.queries import members_with_ids

#: What such a notice is called: no kind of due item has this name.
LOG = "log"
_SIGNER = Signer(salt="fleet.log-mail")


class LastLogged(Protocol):
    """``settings.LAST_LOGGED``: the last day on which, or for which, each member logged something; few queries."""

    def __call__(self, member_ids: Collection[int]) -> Mapping[int, date]: ...


class Nudge(NamedTuple):
    """A word to one member that nothing was logged since some day."""

    recipient: Member
    quiet: Quiet

    @property
    def key(self) -> NoticeKey:
        """What its notice is known by."""
        return (None, self.recipient.pk, LOG, self.quiet.since.isoformat(), -self.quiet.days, self.recipient.pk)


def nudges(on: date, members: Iterable[Member]) -> list[Nudge]:
    """The words for those of ``members`` who have a car in service and logged nothing for a week, on ``on``.

    It takes the same few queries for any number of them.
    """
    asked = {member.pk: member for member in members if member.wants_log_mail and member.belongs_on(on)}
    heard: dict[int, list[date]] = {}
    for keeper_id, days in _kept_since(asked, on):
        heard.setdefault(keeper_id, []).extend(days)
    last_logged = cast(LastLogged, import_string(settings.LAST_LOGGED))(heard)
    told = _told_before(heard, on)
    found = []
    for pk, days in heard.items():
        others = [asked[pk].joined_on, last_logged.get(pk)]
        quiet = quiet_on(on, [*days, *(day for day in others if day)], told.get(pk))
        if quiet:
            found.append(Nudge(asked[pk], quiet))
    return found


def off_address(member: Member) -> str:
    """The address at which these words are switched off without signing in."""
    return address_of("fleet:log-mail-off", _SIGNER.sign(str(member.pk)))


def member_of(token: str) -> Member | None:
    """Whose such words an address switches off; None if the book never gave it out."""
    try:
        pk = int(_SIGNER.unsign(token))
    except (BadSignature, ValueError):
        return None
    return next(iter(members_with_ids({pk})), None)


def _kept_since(member_ids: Collection[int], on: date) -> list[tuple[int, list[date]]]:
    """Who of the members keeps which car in service on ``on``: since when, and when its odometer was read last."""
    cars = {
        car.pk: car for car in Car.objects.filter(in_service_after(on), keeper__in=member_ids, in_service_from__lte=on)
    }
    read: dict[int, date] = {}
    for car_id, read_on, _ in recorded_readings(cars, since=on):
        read[car_id] = max(read_on, read.get(car_id, read_on))
    found = []
    for car_id, times in keeperships_of_cars(cars).items():
        for time in times:
            # On the day of a handover it is still the former keeper's, who need not be among those asked about.
            if time.holds(on) and time.keeper_id in member_ids:
                days = [cars[car_id].in_service_from, time.first, read.get(car_id)]
                found.append((time.keeper_id, [day for day in days if day]))
    return found


def _told_before(member_ids: Collection[int], on: date) -> dict[int, date]:
    """The day of each member's last such word before ``on``."""
    rows = Notice.objects.filter(kind=LOG, recipient__in=member_ids, mail__day__lt=on).order_by()
    return dict(rows.values_list("recipient_id").annotate(Max("mail__day")))
