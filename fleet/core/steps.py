"""The steps at which a due item is told.

A step is reached, never equalled: a night without a run loses none.
"""

#: Days before the due day, and the day itself.
STEPS = (30, 14, 7, 1, 0)
DAYS_BETWEEN_MILD = 7


def reached_step(days_left: int, daily_when_overdue: bool, notice_days: int = STEPS[0]) -> int | None:
    """The latest step reached with ``days_left`` days to go; None before the first.

    Steps count down to the due day as ``days_left`` does: 30, 14, 7, 1, 0, and below nought once overdue,
    every day if ``daily_when_overdue``, else every seventh. What needs longer notice is told once more, and first,
    when its ``notice_days`` begin.
    """
    if days_left >= 0:
        return min((step for step in (notice_days, *STEPS) if step >= days_left), default=None)
    if daily_when_overdue:
        return days_left
    return -(-days_left // DAYS_BETWEEN_MILD * DAYS_BETWEEN_MILD)
