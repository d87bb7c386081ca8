"""A member's own comparisons of offers for their next car."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from config.look.tokens import OFFERS
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.models.agreements import agreement_kind_field, agreement_kind_known
from fleet.models import Car, FuelKind
from instructors.models import Member


class Comparison(models.Model):
    """One comparison, saved step by step: the tables of an offers document, as far as they are told.

    ``use`` and ``running`` are the document's tables, and ``what_ifs`` and ``uncertain`` its lists, with numbers and
    days as text. ``sources`` says where each running cost came from: own records, the group's median, or typed in.
    """

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="comparisons")
    name = models.CharField(max_length=80)
    use = models.JSONField(default=dict, blank=True)
    running = models.JSONField(default=dict, blank=True)
    sources = models.JSONField(default=dict, blank=True)
    what_ifs = models.JSONField(default=list, blank=True)
    uncertain = models.JSONField(default=list, blank=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-changed_at"]

    def __str__(self) -> str:
        return self.name


class Offer(models.Model):
    """One offer of a comparison: an ``[[offer]]`` of the document, as far as it is filled in.

    ``position`` runs from 0 to 7, with a letter for each. ``terms`` has the keys of the document as they are stored,
    and ``sources`` where a figure of the offer's own running costs came from, by key. ``burns`` is the fuel of the car
    offered, where it is known. ``look_over`` is what was found when the car was looked over before buying it.

    ``kept`` is the member's own car if the offer is to go on with it. Once it is accepted, ``car`` is the car that
    it became and ``chosen_on`` the day. An offer of the next keeper may become the same car.
    """

    comparison = models.ForeignKey(Comparison, on_delete=models.CASCADE, related_name="offers")
    position = models.PositiveSmallIntegerField()
    kind = agreement_kind_field()
    name = models.CharField(max_length=80)
    terms = models.JSONField(default=dict, blank=True)
    burns = models.CharField(max_length=13, choices=FuelKind, blank=True)
    sources = models.JSONField(default=dict, blank=True)
    kept = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, blank=True, related_name="kept_offers")
    look_over = models.JSONField(default=dict, blank=True)
    chosen_on = models.DateField(null=True, blank=True)
    car = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, blank=True, related_name="accepted_offers")

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["comparison", "name"], name="offer_name_once_a_comparison"),
            models.UniqueConstraint(fields=["comparison", "position"], name="offer_position_once_a_comparison"),
            agreement_kind_known("offer_kind_known"),
            models.CheckConstraint(condition=Q(burns__in=["", *FuelKind.values]), name="offer_burns_known"),
            models.CheckConstraint(
                condition=Q(car__isnull=True) | Q(chosen_on__isnull=False), name="offer_car_has_its_day"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def letter(self) -> str:
        """What stands for it in tables, pictures and on paper, for as long as it is there."""
        return OFFERS[self.position].letter

    @property
    def is_bought(self) -> bool:
        """Whether its car would be bought: it is neither hired nor the one that the member has."""
        return self.kept_id is None and AGREEMENT_KINDS[self.kind].becomes_own
