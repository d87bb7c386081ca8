"""Every change to the people, their invitations and the co-op's settings, and the record of who did what.

Arguments are keyword only, and ``by`` is the member who acts. Each action is one transaction.
"""

from instructors.actions.backups import back_up_today, note_backup
from instructors.actions.cooperative import change_settings, load_settings
from instructors.actions.drills import drill_backup, drill_this_month
from instructors.actions.files import note_whether_store_answers, record_lost_files
from instructors.actions.invitations import (
    MailRefused,
    accept_invitation,
    invite_from_server,
    invite_member,
    mail_invitation,
    renew_link,
    send_invitation,
    withdraw_invitation,
)
from instructors.actions.people import (
    change_member,
    choose_reminders,
    give_password,
    load_members,
    lock_member,
    record_leaving,
    record_return,
    require_another_coordinator,
    stop_log_mail,
)
from instructors.actions.record import (
    KEPT_FOR,
    record_act,
    record_own,
    record_settings_changes,
    text_of,
)
from instructors.actions.retention import clean_up

__all__ = [
    "KEPT_FOR",
    "MailRefused",
    "accept_invitation",
    "back_up_today",
    "change_member",
    "change_settings",
    "choose_reminders",
    "clean_up",
    "drill_backup",
    "drill_this_month",
    "give_password",
    "invite_from_server",
    "invite_member",
    "load_members",
    "load_settings",
    "lock_member",
    "mail_invitation",
    "note_backup",
    "note_whether_store_answers",
    "record_act",
    "record_leaving",
    "record_lost_files",
    "record_own",
    "record_return",
    "record_settings_changes",
    "renew_link",
    "require_another_coordinator",
    "send_invitation",
    "stop_log_mail",
    "text_of",
    "withdraw_invitation",
]
