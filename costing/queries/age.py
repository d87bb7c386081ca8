"""How old the book is."""

from datetime import datetime

from fleet.models import Car


def first_car_recorded_at() -> datetime | None:
    """When the first car came into the book; None while there is none."""
    history = Car.history.filter(id__in=Car.objects.values("pk"))
    return history.order_by("history_date").values_list("history_date", flat=True).first()
