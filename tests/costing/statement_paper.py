"""What papers of statements say, read back out of the PDF."""

import re
from io import BytesIO

from pypdf import PdfReader

from costing.statement.pictures.page import figure_of
from costing.statement.report import Statement


def words_of(pdf: bytes) -> str:
    """The text of all pages, with single spaces."""
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages))


def holds(text: str, statement: Statement) -> None:
    """Check that the text has each figure of the statement in its place, to the penny."""
    cost = statement.cost
    sums = f"{figure_of(cost.true_cost)} {figure_of(cost.money_out)}"
    for group in statement.groups:
        assert f"{group.group.words} {figure_of(group.pence)} {figure_of(group.money_out)}" in text
    for line in statement.lines:
        assert f"{line.label} {line.source} {figure_of(line.pence)} {figure_of(line.money_out)}" in text
        for entry in line.entries:
            ends = f"{figure_of(entry.pence)} {figure_of(entry.paid)}"
            day, sums_before = f"{entry.on.day} {entry.on:%B %Y}", "(£[^£]*){0,2}"
            assert re.search(rf"{day} [^£]*{sums_before}{re.escape(ends)}", text)
    if statement.groups:
        assert text.count(f"{statement.title} {sums}") == 2  # of the groups, and of the entries
    hour = cost.cost_per_lesson_hour
    assert ("Not known" if hour is None else f"£{figure_of(hour)}") in text
    if cost.cost_per_lesson is not None:
        assert f"a lesson hour, £{figure_of(cost.cost_per_lesson)} a lesson" in text
    for reason in statement.missing:
        assert reason[1:] in text
