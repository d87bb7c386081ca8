"""What holds the rows of closings.csv together: a month and its year are closed in one."""

from collections.abc import Mapping

from costing.archive.reading import Row, Sheet
from costing.archive.tables import CLOSINGS
from costing.models import Span

_OTHER = {Span.MONTH: Span.YEAR, Span.YEAR: Span.MONTH}


def check_closings(sheets: Mapping[str, Sheet], new: Mapping[str, list[Row]]) -> None:
    """Add a fault for a new row of a month whose other span is new nowhere: half a closing is none."""
    sheet = sheets.get(CLOSINGS.file)
    if sheet is None or not sheet.is_whole:
        return
    if any({"month", "span"} & row.unread for row in sheet.rows):
        return  # the one that is missed may well be that row
    there = {(row.values["month"], row.values["span"]) for row in sheet.rows}
    for row in new.get(CLOSINGS.file, ()):
        month, span = row.values["month"], row.values["span"]
        if (month, _OTHER[span]) not in there:
            other = _OTHER[span].value
            sheet.add_fault(row.line, "span", f"is {span} alone: {month:%Y-%m} has no row of its {other}")
