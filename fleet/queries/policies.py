"""What was found of the cars' insurance policies."""

from fleet.models import Car, Confirmation
from fleet.queries.condition import TUITION_COVER


def tuition_cover_of(car: Car | None) -> Confirmation | None:
    """What was answered last to whether the policy of ``car`` covers driving tuition; None if nobody looked."""
    return Confirmation.objects.filter(car=car, point=TUITION_COVER).order_by("-confirmed_on").first()
