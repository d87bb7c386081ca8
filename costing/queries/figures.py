"""The group's frozen figures."""

from datetime import date

from costing.models import GroupFigure, Span


def closed_months() -> list[date]:
    """The first day of every closed month, newest first."""
    months = GroupFigure.objects.filter(span=Span.MONTH, revision=0)
    return list(months.order_by("-month").values_list("month", flat=True))


def newest_figure(month: date, span: str) -> GroupFigure | None:
    """The last revision of a closed month's figure; None while the month is not closed."""
    return GroupFigure.objects.filter(month=month, span=span).order_by("-revision").first()
