"""The page /photos/<uuid>/: one photo, for whoever may see it."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.templatetags.places import places
from fleet.actions import keep_photo
from fleet.models import Car, Photo
from instructors.models import Member
from tests.factories import DefectFactory, PhotoFactory

pytestmark = pytest.mark.usefixtures("today")


def path_of(photo: Photo) -> str:
    return reverse("fleet:photo", args=[photo.pk])


def status_of(client: Client, photo: Photo) -> int:
    answer = client.get(path_of(photo))
    b"".join(answer)  # read to its end, it closes its file
    return answer.status_code


def kept(by: Member, car: Car, *, is_of_defect: bool) -> Photo:
    photo = keep_photo(by=by, car=car, picture=b"a picture", is_of_defect=is_of_defect)
    assert photo is not None
    return photo


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_a_photo_of_a_defect_is_for_keeper_and_coordinators(
    everyone: dict[str, Client], car: Car, coordinator: Member, who: str, status: int
) -> None:
    assert status_of(everyone[who], kept(coordinator, car, is_of_defect=True)) == status


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_a_photo_of_a_paper_is_for_whoever_took_it_alone(
    everyone: dict[str, Client], car: Car, keeper: Member, who: str, status: int
) -> None:
    assert status_of(everyone[who], kept(keeper, car, is_of_defect=False)) == status


def test_a_keeper_does_not_see_the_papers_a_former_one_took(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    paper, defect = kept(keeper, car, is_of_defect=False), kept(keeper, car, is_of_defect=True)
    Car.objects.update(keeper=colleague)
    assert status_of(everyone["colleague"], paper) == 404
    assert status_of(everyone["colleague"], defect) == 200
    assert status_of(everyone["keeper"], paper) == 200


def test_it_is_handed_over_as_a_jpeg_that_nobody_between_may_keep_or_guess_at(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    answer = everyone["keeper"].get(path_of(kept(keeper, car, is_of_defect=True)))
    assert b"".join(answer) == b"a picture"
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer.headers["Cache-Control"]


def test_one_that_does_not_exist_or_has_lost_its_file_is_not_found(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    assert everyone["keeper"].get(reverse("fleet:photo", args=[uuid4()])).status_code == 404
    lost = everyone["keeper"].get(path_of(PhotoFactory.create(car=car)))
    assert (lost.status_code, "This picture is no longer there." in lost.content.decode()) == (404, True)
    # It belongs to its car.
    assert [link.place.words for link in places(path_of(PhotoFactory.build(car=car))) if link.current] == ["Cars"]


def test_the_page_of_a_defect_says_that_its_photo_is_lost(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    photo = kept(keeper, car, is_of_defect=True)
    defect = DefectFactory.create(car=car, photo=photo)
    page = reverse("fleet:defect", args=[defect.pk])
    assert path_of(photo) in everyone["keeper"].get(page).content.decode()
    photo.image.storage.delete(photo.image.name)
    shown = everyone["keeper"].get(page).content.decode()
    assert (path_of(photo) in shown, "This picture is no longer there." in shown) == (False, True)


def test_no_photo_has_an_address_of_its_file(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    photo = kept(keeper, car, is_of_defect=True)
    for address in (f"/{photo.image.name}", f"/files/{photo.image.name}", f"/media/{photo.image.name}"):
        assert everyone["keeper"].get(address).status_code == 404


def test_nothing_is_kept_where_there_is_no_picture(car: Car, keeper: Member) -> None:
    assert keep_photo(by=keeper, car=car, picture=None) is None
    assert not Photo.objects.exists()
