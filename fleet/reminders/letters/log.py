"""The word to a member that nothing was logged for a week: a mail of its own, or a part of the reminder of the day."""

from typing import Any

from config.site import page, site_url
from fleet.reminders.letters.parts import Letter
from fleet.reminders.nudges import Nudge, off_address


def log_letter(nudge: Nudge) -> Letter:
    """The mail that says only this; mail programs may offer to switch it off (RFC 2369, and RFC 8058 for one tap)."""
    headers = {
        "List-Unsubscribe": f"<{off_address(nudge.recipient)}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }
    context = {"recipient": nudge.recipient, "site_url": site_url(), **nudge_context(nudge)}
    return Letter("fleet/mail/log", context, headers=headers)


def nudge_context(nudge: Nudge | None) -> dict[str, Any]:
    """What the templates say of it; nothing if there is none."""
    if nudge is None:
        return {}
    return {
        "quiet_since": nudge.quiet.since,
        "log_link": f"{site_url()}{page('home')}",
        "log_off_link": off_address(nudge.recipient),
    }
