"""What a PDF may load. A module of its own, because importing WeasyPrint is slow and fails without its libraries."""

import mimetypes
from typing import Any
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from PIL import ImageFile
from weasyprint.urls import URLFetcher, URLFetcherResponse

# WeasyPrint has Pillow accept truncated pictures in the whole process, but a truncated photo must still be refused.
ImageFile.LOAD_TRUNCATED_IMAGES = False

#: The base of static files' addresses inside a PDF; no such host can exist (RFC 2606).
BASE_URL = "https://book.invalid"


class StaticFetcher(URLFetcher):
    """Loads the book's static files and ``data:`` addresses, and refuses everything else."""

    def __init__(self) -> None:
        super().__init__(allowed_protocols=["data"], allow_redirects=False)

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
        """The response for ``url``. Raises ValueError if it may not be loaded."""
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
