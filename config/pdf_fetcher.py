"""What a PDF may fetch. Its own module: importing WeasyPrint is slow, and fails where its libraries are missing."""

import mimetypes
from typing import Any
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from PIL import ImageFile
from weasyprint.urls import URLFetcher, URLFetcherResponse

# WeasyPrint makes Pillow take half a picture for a whole one, in all of this process: a photo cut short on its way
# from a phone must still be refused.
ImageFile.LOAD_TRUNCATED_IMAGES = False

#: Where the addresses of static files seem to lie; no such host can exist (RFC 2606).
BASE_URL = "https://book.invalid"


class StaticFetcher(URLFetcher):
    """Serves the book's static files and ``data:`` addresses; refuses all others: no network, no other file."""

    def __init__(self) -> None:
        super().__init__(allowed_protocols=["data"], allow_redirects=False)

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
        """The response for ``url``. Raises ValueError for what may not be fetched."""
        static_url = f"{BASE_URL}{settings.STATIC_URL}"
        if not url.startswith(static_url):
            return super().fetch(url, headers)
        name = unquote(urlsplit(url).path.removeprefix(settings.STATIC_URL))
        path = staticfiles_storage.path(name) if settings.STATIC_FILES_COLLECTED else finders.find(name)
        if path is None:
            raise ValueError(f"there is no static file {name}")
        with open(path, "rb") as file:
            content_type = mimetypes.guess_type(name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, file.read(), {"Content-Type": content_type})
