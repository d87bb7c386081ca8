"""The application as a web server calls it: what a client says of its body's charset is not believed."""

from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest

from config.server import EmbeddedServer

#: Of Python's codecs: none of text, one that cannot decode, and such as read a form as something else.
CHARSETS = ("zlib", "hex", "bz2", "rot13", "base64", "undefined", "quopri", "idna", "utf-7", "utf-16", "latin-1")
#: With it the form is read; what is typed into it is not enough to sign in.
TOKEN = "a" * 32

pytestmark = pytest.mark.django_db


def application() -> Any:
    """The application, which looks at the database once, as it is first imported."""
    from config.wsgi import application

    return application


def answered(method: str, query: str = "", body: bytes = b"", **environ: Any) -> str:
    """The status of the real application's answer."""
    told: list[str] = []
    environ |= {
        "REQUEST_METHOD": method,
        # A page that asks nothing of the database: each request closes its connection, and with it the test's.
        "PATH_INFO": "/account/password/reset/",
        "QUERY_STRING": query,
        "CONTENT_LENGTH": str(len(body)),
        "SERVER_NAME": "localhost",
        "SERVER_PORT": "8000",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "REMOTE_ADDR": "127.0.0.1",
        "HTTP_COOKIE": f"csrftoken={TOKEN}",
        "wsgi.input": BytesIO(body),
        "wsgi.errors": BytesIO(),
        "wsgi.url_scheme": "http",
    }
    with_answer: Callable[..., Any] = lambda status, headers, exc_info=None: told.append(status)  # noqa: E731
    answer = application()(environ, with_answer)
    b"".join(answer)
    getattr(answer, "close", lambda: None)()
    return told[0]


@pytest.mark.parametrize("charset", CHARSETS)
def test_another_charset_is_no_error(charset: str) -> None:
    form = f"email=&csrfmiddlewaretoken={TOKEN}".encode()
    assert answered("GET", "next=/x%C3%A9", CONTENT_TYPE=f"text/plain; charset={charset}") == "200 OK"
    urlencoded = f"application/x-www-form-urlencoded; charset={charset}"
    assert answered("POST", "next=/x", form, CONTENT_TYPE=urlencoded) == "200 OK"


@pytest.mark.parametrize(
    "said", [";CHARSET=zlib", '; x=";"; charset="zlib"', "; x=1 ; charset*=utf-8''zlib", "; x*=zlib''%41"]
)
def test_however_it_is_written(said: str) -> None:
    assert answered("GET", "next=/x", CONTENT_TYPE=f"text/plain{said}") == "200 OK"


@pytest.mark.parametrize("charset", ["hex", "utf-16"])
def test_nor_is_it_in_a_form_with_files(charset: str) -> None:
    def part(name: str, value: str) -> str:
        disposition = f"Content-Disposition: form-data; name={name}; x*={charset}''%41"
        return f"--cut\r\n{disposition}\r\nContent-Type: text/plain; charset={charset}\r\n\r\n{value}\r\n"

    body = f"{part('csrfmiddlewaretoken', TOKEN)}{part('email', '')}--cut--\r\n".encode()
    for said in (f"charset={charset}; boundary=cut", f"boundary=cut; charset={charset}", 'Boundary="cut"; x=1'):
        assert answered("POST", "next=/x", body, CONTENT_TYPE=f"multipart/form-data; {said}") == "200 OK"


def test_the_site_without_other_servers_serves_the_same(settings, tmp_path) -> None:
    settings.STATIC_ROOT = tmp_path
    assert EmbeddedServer("127.0.0.1:0").load() is application()
