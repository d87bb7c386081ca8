"""What a period is called."""

from config.showing import month, span_of
from costing.core.periods import month_of, tax_year_of
from costing.core.records import Period


def title_of(period: Period) -> str:
    """Name a period: March 2027 if it is that month, months by their ends, a tax year by its years, else its days."""
    first, last = period
    if period == month_of(first):
        return month(first)
    if period == tax_year_of(first):
        return f"Tax year {first.year} to {last.year}"
    if first.day == 1 and last == month_of(last).last:
        return f"{first:%B} to {month(last)}" if first.year == last.year else f"{month(first)} to {month(last)}"
    return span_of(*period)
