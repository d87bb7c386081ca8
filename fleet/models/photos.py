"""Photos of certificates and defects, made anew from what was uploaded."""

import uuid

from django.db import models
from django.utils import timezone

from fleet.models.cars import Car
from instructors.models import Member


def place_of(photo: "Photo", filename: str) -> str:
    """Where a photo's file lies: by a name of the book's own, never the uploader's."""
    return f"photos/{photo.pk}.jpg"


class Photo(models.Model):
    """One picture that belongs to a car's papers or to a defect of it; its file is a JPEG of our own making."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="photos")
    taken_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    image = models.FileField(upload_to=place_of, editable=False)
    #: A defect's photo is part of what a coordinator looks after; a paper's is its owner's alone.
    is_of_defect = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["created_at"]

    def __str__(self) -> str:
        return f"Photo {self.pk} of {self.car}"
