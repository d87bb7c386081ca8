"""What the book knows of the cars: who may see which, what they have run, what falls due, what was told."""

from fleet.queries.access import car_for, cars_of, cars_visible_to, due_item_for
from fleet.queries.condition import TUITION_COVER, conditions_of, open_defects_of, treads_of
from fleet.queries.due import (
    CarDue,
    DueLine,
    DueReport,
    MemberDue,
    Subject,
    due_day_of,
    due_report,
    proposed_next_due_on,
)
from fleet.queries.log import (
    completions_of,
    completions_of_member,
    last_finished_run,
    recent_runs,
    unsent_mails,
)
from fleet.queries.miles import (
    CarReading,
    OdometerSource,
    last_reading_of,
    raw_readings_of,
    readings_of,
    recorded_readings,
)

__all__ = [
    "TUITION_COVER",
    "CarDue",
    "CarReading",
    "DueLine",
    "DueReport",
    "MemberDue",
    "OdometerSource",
    "Subject",
    "car_for",
    "cars_of",
    "cars_visible_to",
    "completions_of",
    "completions_of_member",
    "conditions_of",
    "due_day_of",
    "due_item_for",
    "due_report",
    "last_finished_run",
    "last_reading_of",
    "open_defects_of",
    "proposed_next_due_on",
    "raw_readings_of",
    "readings_of",
    "recent_runs",
    "recorded_readings",
    "treads_of",
    "unsent_mails",
]
