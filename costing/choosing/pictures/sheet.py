"""The decision sheet: as much of a report as fits on two sides of paper, whatever the offers."""

from typing import Any

from costing.choosing.pictures import charts, sources, table
from costing.choosing.pictures.answer import answer, plain
from costing.choosing.pictures.cautions import cautions
from costing.choosing.report import OffersReport
from costing.choosing.services.finding import letters_of
from costing.models import Comparison


def sheet_of(comparison: Comparison, report: OffersReport) -> dict[str, Any]:
    """The context of the sheet's template."""
    letters = letters_of(comparison)
    columns = table.columns_of(report.figures, letters)
    groups = table.groups_of(report, columns)
    found = answer(report.figures, report.verdicts, letters)
    return {
        "comparison": comparison,
        "use": report.case.use,
        "use_words": sources.use_in_words(report.case.use),
        "answer": [plain(sentence) for sentence in (found.sentence, *found.beside)],
        "columns": columns,
        "rows": [row for group in groups for row in group.rows],
        "leaving": charts.leaving_picture(report, columns, letters).chart,
        "money": charts.money_chart(columns),
        "cautions": cautions(report.case, report.leaving(), letters),
    }
