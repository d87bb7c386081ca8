"""What the book knows of the cars: who may see which, what they have run, what falls due, what was told."""

from fleet.queries.access import car_for, cars_of, cars_visible_to, completion_for, due_item_for, open_item_of
from fleet.queries.board import Board, BoardRow, asked_for_on, board, may_be_reminded_by
from fleet.queries.checks import check_point_for, checks_of, last_checks_of, next_check_of, own_points, points_in_use
from fleet.queries.condition import TUITION_COVER, conditions_of, open_defects_of, treads_of
from fleet.queries.defects import defect_for, defects_of, photo_for, point_words_of, steps_of
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
from fleet.queries.feeds import Revision, feed_by, feed_for, feeds_in_use, report_in, revisions_of, scopes_open_to
from fleet.queries.keeping import Keeping, has_kept, keepers_since, keepings_of, refused_day, took_over_on
from fleet.queries.log import (
    KindCount,
    asked_mails,
    completions_of,
    completions_of_member,
    last_finished_run,
    mail_counts,
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
    written_reading_of,
    written_readings_of,
)
from fleet.queries.mot import mot_findings_of
from fleet.queries.policies import tuition_cover_of
from fleet.queries.requirements import facts_of
from fleet.queries.silence import quiet_since, reminders_are_late
from fleet.queries.tread import TreadReport, tread_report

__all__ = [
    "TUITION_COVER",
    "Board",
    "BoardRow",
    "CarDue",
    "CarReading",
    "DueLine",
    "DueReport",
    "Keeping",
    "KindCount",
    "MemberDue",
    "OdometerSource",
    "Revision",
    "Subject",
    "TreadReport",
    "asked_for_on",
    "asked_mails",
    "board",
    "car_for",
    "cars_of",
    "cars_visible_to",
    "check_point_for",
    "checks_of",
    "completion_for",
    "completions_of",
    "completions_of_member",
    "conditions_of",
    "defect_for",
    "defects_of",
    "due_day_of",
    "due_item_for",
    "due_report",
    "facts_of",
    "feed_by",
    "feed_for",
    "feeds_in_use",
    "has_kept",
    "keepers_since",
    "keepings_of",
    "last_checks_of",
    "last_finished_run",
    "last_reading_of",
    "mail_counts",
    "may_be_reminded_by",
    "mot_findings_of",
    "next_check_of",
    "open_defects_of",
    "open_item_of",
    "own_points",
    "photo_for",
    "point_words_of",
    "points_in_use",
    "proposed_next_due_on",
    "quiet_since",
    "raw_readings_of",
    "readings_of",
    "recent_runs",
    "recorded_readings",
    "refused_day",
    "reminders_are_late",
    "report_in",
    "revisions_of",
    "scopes_open_to",
    "steps_of",
    "took_over_on",
    "tread_report",
    "treads_of",
    "tuition_cover_of",
    "unsent_mails",
    "written_reading_of",
    "written_readings_of",
]
