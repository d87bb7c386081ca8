"""When the book last deleted what is too old."""

from instructors.models import Cleaning


def cleanings() -> dict[str, Cleaning]:
    """The last time each sort of thing was cleaned away, by its name in the table of ``settings.RETENTION``."""
    return {cleaning.name: cleaning for cleaning in Cleaning.objects.all()}
