"""The receipts of the made-up book: the till's paper for a member's last fill and last cost."""

import io
from collections.abc import Iterator

from PIL import Image, ImageDraw, ImageFont

from config.pictures import as_pages
from config.showing import day, pounds
from costing.actions import keep_receipts
from costing.models import CostEntry, Fill
from instructors.models import Member

#: Of the paper and its print, in pixels.
WIDTH, LINE, EDGE, PRINT = 480, 44, 36, 26


def make_receipts(member: Member) -> None:
    """Keep a receipt with the last fill and the last cost of a member."""
    for entries in (Fill.objects.order_by("filled_on"), CostEntry.objects.order_by("paid_on")):
        entry = entries.filter(member=member).last()
        if entry is not None:
            keep_receipts(by=member, entry=entry, pages=as_pages(io.BytesIO(_paper([*_lines(entry)]))))


def _lines(entry: Fill | CostEntry) -> Iterator[str]:
    yield from ("WHARF LANE MOTORS", "")
    if isinstance(entry, Fill):
        yield from (day(entry.filled_on), f"{entry.quantity} {entry.get_unit_display()}")
    else:
        yield from (day(entry.paid_on), entry.get_category_display())
    yield from ("", f"TOTAL  {pounds(entry.amount)}", "", "Thank you")


def _paper(lines: list[str]) -> bytes:
    picture = Image.new("RGB", (WIDTH, LINE * len(lines) + 2 * EDGE), "white")
    pen = ImageDraw.Draw(picture)
    for number, line in enumerate(lines):
        pen.text((EDGE, EDGE + number * LINE), line, fill="black", font=ImageFont.load_default(PRINT))
    file = io.BytesIO()
    picture.save(file, "PNG")
    return file.getvalue()
