"""When an instructor's credentials may be renewed, and when to begin."""

from datetime import date, timedelta

from fleet.core.days import add_months

#: D10-9, secondary: DVSA takes a renewal in the last 30 days only; allow the criminal-record check three months.
_RENEWAL_OPENS_DAYS = 30
_RECORD_CHECK_MONTHS = 3


def adi_renewal_from(last_day: date) -> date:
    """The first day on which DVSA takes the renewal of an ADI registration that ends on ``last_day``."""
    return last_day - timedelta(days=_RENEWAL_OPENS_DAYS)


def record_check_from(last_day: date) -> date:
    """The day by which to ask for the criminal-record check that goes before that renewal."""
    return add_months(last_day, -_RECORD_CHECK_MONTHS)
