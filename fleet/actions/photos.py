"""Keeping a photo of a car's paper or of a defect."""

from django.core.files.base import ContentFile

from config.history import save_as
from fleet.actions.acts import note_act
from fleet.models import Car, Photo
from instructors.models import Member


def keep_photo(*, by: Member, car: Car, picture: bytes | None, is_of_defect: bool = False) -> Photo | None:
    """Keep a picture, a JPEG of our own making (``config.pictures``); None if there is none."""
    if picture is None:
        return None
    photo = Photo(car=car, taken_by=by, is_of_defect=is_of_defect)
    photo.image.save("", ContentFile(picture), save=False)
    save_as(by, photo)
    note_act(by, car, "photo_kept")
    return photo
