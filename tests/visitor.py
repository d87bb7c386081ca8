"""A browser without a window, for a site that really listens: cookies, the hidden token of forms, and an address."""

import http.client
import re
import ssl
from http.cookies import SimpleCookie
from urllib.parse import urlencode


class Visitor:
    """Whoever asks a site at ``port`` of this machine from the address ``comes_from`` (127.0.0.2 is as good as any).

    ``headers`` are sent with every request: what a liar puts there. With ``trusting``, it asks by https, and takes no
    certificate but one of that authority, for localhost.
    """

    def __init__(
        self, port: int, *, comes_from: str = "127.0.0.1", trusting: ssl.SSLContext | None = None, **headers: str
    ) -> None:
        self.port, self.comes_from, self.trusting = port, comes_from, trusting
        self.headers = {name.replace("_", "-"): value for name, value in headers.items()}
        self.cookies: dict[str, str] = {}

    def get(self, path: str) -> http.client.HTTPResponse:
        """The answer, read to its end (``.body``)."""
        return self._ask("GET", path)

    def post(self, path: str, **fields: str) -> http.client.HTTPResponse:
        """The answer to a form of the page at ``path``, sent as a browser would."""
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self._ask("GET", path).body)
        fields["csrfmiddlewaretoken"] = token[1] if token else ""
        return self.send(path, **fields)

    def send(self, path: str, **fields: str) -> http.client.HTTPResponse:
        """The answer to a form that has its token already."""
        return self._ask("POST", path, urlencode(fields))

    def _ask(self, method: str, path: str, body: str | None = None) -> http.client.HTTPResponse:
        connection = self._connection()
        headers = self.headers | {"Host": f"localhost:{self.port}"}
        if self.trusting:
            headers["Referer"] = f"https://localhost:{self.port}{path}"
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(method, path, body, headers)
        response = connection.getresponse()
        response.body = response.read().decode()
        connection.close()
        for line in response.headers.get_all("Set-Cookie", []):
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        return response

    def _connection(self) -> http.client.HTTPConnection:
        how = {"source_address": (self.comes_from, 0), "timeout": 60}
        if self.trusting:
            return http.client.HTTPSConnection("localhost", self.port, context=self.trusting, **how)
        return http.client.HTTPConnection("127.0.0.1", self.port, **how)
