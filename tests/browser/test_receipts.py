"""A receipt on a phone: photographed while a fill is logged, drawn smaller before it is sent, seen and removed."""

import io

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import FilePayload, expect

from costing.models import Fill, Receipt
from fleet.models import Car
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import faults_now
from tests.papers import receipt_pdf
from tests.pictures import picture_bytes

PHOTO: FilePayload = {"name": "r.jpg", "mimeType": "image/jpeg", "buffer": picture_bytes(size=(3_000, 4_000))}
PDF: FilePayload = {"name": "r.pdf", "mimeType": "application/pdf", "buffer": receipt_pdf()}
FILES = "Array.from(document.querySelector('[name=receipt]').files)"


@pytest.mark.parametrize("has_script", [True, False])
def test_it_goes_along_with_a_fill(has_script: bool, open_page: OpenPage, member: Member, taught_car: Car) -> None:
    page = open_page(member, script=has_script)
    page.goto(reverse("costing:fill-log"))
    odometer = max(Fill.objects.values_list("odometer", flat=True), default=0) + 120
    for name, typed in (("amount", "51.84"), ("quantity", "36.28"), ("odometer", str(odometer))):
        page.fill(f"[name={name}]", typed)
    page.set_input_files("[name=receipt]", [PHOTO, PDF])
    if has_script:
        # A promise, because the policy of the page lets nobody wait by words.
        page.evaluate(f"""new Promise((done) => setInterval(() => {FILES}[0].name === "receipt.jpg" && done(), 50))""")
        longest = page.evaluate(f"createImageBitmap({FILES}[0]).then((one) => Math.max(one.width, one.height))")
        assert longest == 2_000
        assert page.evaluate(f"{FILES}[1].size") == len(PDF["buffer"])
        assert "\n".join(faults_now(page, "a fill with its receipt")) == ""
    page.get_by_role("button", name="Save this fill").click()
    expect(page.get_by_text("Logged: Fill")).to_be_visible()
    photo, _ = Receipt.objects.all()
    with photo.picture.open("rb") as file:
        assert max(Image.open(io.BytesIO(file.read())).size) == 1_600
    page.goto(reverse("costing:entry-correct", args=["fill", photo.fill_id]))
    expect(page.get_by_role("img", name="Receipt 1")).to_be_visible()
    if has_script:
        assert faults_now(page, "an entry with receipts") == []
    page.get_by_role("link", name="Remove receipt 1").click()
    page.get_by_role("button", name="Remove it").click()
    expect(page.get_by_text("The receipt was removed.")).to_be_visible()
    assert Receipt.objects.count() == 1
