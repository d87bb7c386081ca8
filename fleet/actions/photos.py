"""Keeping a photo of a car's paper or of a defect."""

import logging

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile

from config.history import save_as
from config.whole_files import why_not_kept
from fleet.actions.acts import note_act
from fleet.models import Car, Photo
from instructors.models import Member

logger = logging.getLogger(__name__)


def keep_photo(*, by: Member, car: Car, picture: bytes | None, is_of_defect: bool = False) -> Photo | None:
    """Store a picture, a JPEG that the book encoded itself (``config.pictures``); None if there is none.

    Raises ValidationError on ``picture`` if it cannot be written: then nothing of it stays.
    """
    if picture is None:
        return None
    photo = Photo(car=car, taken_by=by, is_of_defect=is_of_defect)
    try:
        photo.image.save("", ContentFile(picture), save=False)
    except OSError as error:
        logger.error("A photo could not be written: %s", error.strerror)
        raise ValidationError({"picture": why_not_kept(error)}, code="not_kept") from error
    save_as(by, photo)
    note_act(by, car, "photo_kept")
    return photo
