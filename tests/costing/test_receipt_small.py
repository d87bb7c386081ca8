"""The page /receipts/<uuid>/small/: a receipt's thumbnail. Who sees it is asked in test_receipt.py."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from costing.models import Receipt
from fleet.models import Car
from tests.factories import FillFactory
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")


def test_it_is_small(everyone: dict[str, Client], car: Car) -> None:
    fill = FillFactory.create(car=car, member=car.keeper)
    upload = SimpleUploadedFile("a", picture_bytes(size=(900, 1_200)))
    everyone["keeper"].post(reverse("costing:receipt-add", args=["fill", fill.pk]), {"receipt": upload})
    answer = everyone["keeper"].get(reverse("costing:receipt-small", args=[Receipt.objects.get().pk]))
    assert Image.open(io.BytesIO(b"".join(answer))).size == (240, 320)
