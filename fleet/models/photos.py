"""Photos of papers and defects, re-encoded from the upload."""

import uuid

from django.db import models
from django.utils import timezone

from fleet.models.cars import Car
from instructors.models import Member


def place_of(photo: "Photo", filename: str) -> str:
    """The path of a photo's file: a name of the book's own, never the uploader's."""
    return f"photos/{photo.pk}.jpg"


class Photo(models.Model):
    """One picture of a car's paper or defect; its file is a JPEG that the book encoded itself."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="photos")
    taken_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    image = models.FileField(upload_to=place_of, editable=False)
    #: A coordinator may see the photo of a defect; only its owner may see that of a paper.
    is_of_defect = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["created_at"]

    def __str__(self) -> str:
        return f"Photo {self.pk} of {self.car}"
