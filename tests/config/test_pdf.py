"""Pages on paper: what survives into a PDF, what a PDF may fetch, and what is said where none can be made."""

from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from io import BytesIO
from pathlib import Path
from threading import Thread
from urllib.parse import quote

import pytest
from django.core.management import call_command
from PIL import Image
from pypdf import PageObject, PdfReader

from config.pdf import pdf_response, render_pdf
from config.pictures import NotAPicture, as_jpeg
from config.showing import pence_as_pounds

PAGE = """{%% extends "pdf.html" %%}{%% block title %%}A sheet{%% endblock %%}\
{%% block heading %%}A sheet{%% endblock %%}{%% block main %%}%s{%% endblock %%}"""


@pytest.fixture
def printed(settings, tmp_path: Path):
    """A function that prints the body of a page, with a context, and gives the PDF to be read."""
    settings.TEMPLATES = [
        settings.TEMPLATES[-1] | {"DIRS": [tmp_path, *settings.TEMPLATES[-1]["DIRS"]]},
    ]

    def printed(body: str, **context: object) -> PdfReader:
        (tmp_path / "sheet.html").write_text(PAGE % body)
        return PdfReader(BytesIO(render_pdf("sheet.html", context)))

    return printed


def text_of(pdf: PdfReader) -> str:
    return " ".join(page.extract_text() for page in pdf.pages)


def test_a_pound_sign_and_a_name_survive_into_the_text(printed) -> None:
    text = text_of(
        printed("<p>{{ sum }} {{ name }}</p>", sum=pence_as_pounds(123_456), name="Zdzisława Łąkowska, Дарина, Ελπίδα")
    )
    assert "£1,234.56" in text
    assert "Zdzisława Łąkowska, Дарина, Ελπίδα" in text


def test_a_pdf_names_its_language_and_title_and_is_tagged(printed) -> None:
    pdf = printed("<p>words</p>")
    assert pdf.trailer["/Root"]["/Lang"] == "en-GB"
    assert pdf.metadata.title == "A sheet · Tuition Car Book"
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_header_rows_and_page_numbers_come_on_every_page(printed) -> None:
    rows = "<tr><td>row</td></tr>" * 120
    pdf = printed(f"<table><thead><tr><th>Heading</th></tr></thead><tbody>{rows}</tbody></table>")
    assert len(pdf.pages) > 1
    for number, page in enumerate(pdf.pages, 1):
        assert "Heading" in page.extract_text()
        assert f"page {number} of {len(pdf.pages)}" in page.extract_text()


@pytest.mark.parametrize(("lines", "left"), [(1, "first second"), (28, "second"), (90, "")])
def test_what_is_spare_is_left_out_in_turn_while_it_takes_another_page(printed, lines: int, left: str) -> None:
    part = "{%% if %s %%}<p style='height: 30mm; break-inside: avoid'>%s</p>{%% endif %%}"
    body = "{% for line in lines %}<p>a line</p>{% endfor %}" + part % ("first", "first") + part % ("second", "second")
    printed(body, lines=[])
    context = {"lines": range(lines), "first": True, "second": True}
    pdf = PdfReader(BytesIO(render_pdf("sheet.html", context, spare=["first", "second"], pages=1)))
    assert " ".join(word for word in ("first", "second") if word in text_of(pdf)) == left


def test_what_a_member_wrote_stays_text(printed) -> None:
    assert "<b>bold</b>" in text_of(printed("<p>{{ words }}</p>", words="<b>bold</b>"))


def fonts_of(page: PageObject) -> set[str]:
    """The names of a page's fonts, without the six letters that say they are cut to what is used."""
    fonts = [font.get_object()["/BaseFont"] for font in page["/Resources"]["/Font"].values()]
    return {font.partition("+")[2] for font in fonts}


def test_the_sheet_is_laid_out_by_the_static_style(printed) -> None:
    # A4 in points comes from pdf.css; the faces too.
    page = printed("<p>words <b>in bold</b></p>").pages[0]
    assert [round(side) for side in page.mediabox[2:]] == [595, 842]
    assert fonts_of(page) == {"Besley-Semi-Bold", "Atkinson-Hyperlegible-Next", "Atkinson-Hyperlegible-Next-Bold"}


def test_what_our_faces_lack_is_drawn_by_the_system_s(printed) -> None:
    pdf = printed("<h2>Ελπίδα</h2><p>Zdzisława Łąkowska</p>")
    assert {font for font in fonts_of(pdf.pages[0]) if "DejaVu" in font} == {"DejaVu-Serif-Bold", "DejaVu-Sans"}


def test_the_day_it_was_made_stands_at_the_head_and_at_the_foot_of_every_page(printed, today) -> None:
    pdf = printed("<p>words</p>" * 120)
    [first, *others] = [page.extract_text() for page in pdf.pages]
    assert first.count("made 16 March 2026") == 2
    assert others
    assert all("A sheet, made 16 March 2026" in text for text in others)


def test_a_state_s_silhouette_and_an_offer_s_shape_are_drawn_and_only_their_words_read(printed) -> None:
    pdf = printed("{% silhouette 'off' %} off the road {% letter 'B' %}")
    kinds = {one.get_object().get("/S") for one in pdf.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Nums"][1]}
    assert "/Figure" not in kinds
    assert "off the road B" in " ".join(text_of(pdf).split())
    assert len(pdf.pages[0]["/Resources"]["/XObject"]) == 2


def test_a_server_prints_with_the_collected_files(printed, settings, tmp_path: Path) -> None:
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_FILES_COLLECTED = True
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": "config.lean.LeanStaticFiles"}}
    call_command("collectstatic", interactive=False, verbosity=0)
    assert "page 1 of 1" in text_of(printed("<p>words</p>"))


def test_half_a_photo_is_still_refused_after_printing(printed) -> None:
    # The library that makes PDFs would have half a picture pass, in the whole process.
    printed("<p>words</p>")
    picture = BytesIO()
    Image.effect_noise((300, 300), 60).save(picture, "JPEG")
    with pytest.raises(NotAPicture):
        as_jpeg(BytesIO(picture.getvalue()[:-2_000]))


# --- What a PDF may fetch ---------------------------------------------------------------------------------


@pytest.fixture
def listening() -> Iterator[HTTPServer]:
    """A web server that writes down what is asked of it."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.server.asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *arguments: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    server.asked = []
    Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


def test_nothing_is_asked_of_the_network(printed, listening: HTTPServer) -> None:
    address = f"http://127.0.0.1:{listening.server_port}"
    printed(f'<img src="{address}/a.png" alt="a"><link rel="stylesheet" href="{address}/b.css"><p>words</p>')
    assert listening.asked == []


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/passwd",
        "FILE:///etc/passwd",
        "/etc/passwd",
        "/static/../../../../etc/passwd",
        "/static/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
        "https://book.invalid.example/static/app.css",
        "ftp://files.example/x",
    ],
)
def test_no_file_but_a_static_one_and_no_other_host_is_fetched(address: str) -> None:
    from config.pdf_fetcher import BASE_URL, StaticFetcher

    url = f"{BASE_URL}{address}" if address.startswith("/") else address
    with pytest.raises(Exception, match=r"disallowed protocol|no static file|outside of the base"):
        StaticFetcher().fetch(url)


def test_a_file_of_the_machine_is_not_attached(printed, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("not for paper")
    pdf = printed(f'<link rel="attachment" href="{secret.as_uri()}"><p>words</p>')
    assert not pdf.attachments
    assert "words" in text_of(pdf)


def test_a_picture_in_the_page_itself_is_shown(printed) -> None:
    drawing = "<svg xmlns='http://www.w3.org/2000/svg'><text y='20'>drawn</text></svg>"
    picture = f"data:image/svg+xml,{quote(drawing)}"
    assert "drawn" in text_of(printed('<img alt="a picture" src="{{ picture }}">', picture=picture))


# --- The answer -------------------------------------------------------------------------------------------


def test_the_browser_shows_it_keeps_it_to_itself_and_knows_its_name() -> None:
    response = pdf_response(b"%PDF", 'ready "QA51 ABC".pdf')
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == 'inline; filename="ready_QA51_ABC.pdf"'
    assert response["Cache-Control"] == "private, no-store"
