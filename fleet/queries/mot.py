"""What MOT tests found wrong with the cars."""

from fleet.core.defects import Severity
from fleet.models import Car, Defect, DefectState, FoundBy


def mot_findings_of(car: Car) -> list[Defect]:
    """What MOT tests found wrong with the car and nobody has closed yet, the gravest first."""
    found = Defect.objects.filter(car=car, found_by=FoundBy.MOT).exclude(state=DefectState.CLOSED)
    return sorted(found.order_by("found_on", "pk"), key=lambda defect: list(Severity).index(Severity(defect.severity)))
