"""A page's own form as a browser would send it: what stands in it, before anything is typed."""

from collections import defaultdict
from html.parser import HTMLParser
from urllib.parse import urlsplit


def form_on(page: str, address: str) -> dict[str, list[str]]:
    """The controls of the forms on a page that are sent to its own address, with the values that they start with."""
    found = _Forms(urlsplit(address).path)
    found.feed(page)
    return dict(found.values)


class _Forms(HTMLParser):
    def __init__(self, path: str) -> None:
        super().__init__()
        self.path = path
        self.values: dict[str, list[str]] = defaultdict(list)
        self._is_inside = False
        #: The select or textarea that is open, and the options of it: its value, and whether it is chosen.
        self._name = ""
        self._options: list[tuple[str, bool]] = []
        self._is_text = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        its = {name: value or "" for name, value in attrs}
        if tag == "form":
            goes_to = urlsplit(its.get("action", "")).path or self.path
            self._is_inside = its.get("method", "").lower() == "post" and goes_to == self.path
        elif not self._is_inside or "disabled" in its:
            return
        elif tag == "input":
            self._put_input(its)
        elif tag in ("select", "textarea"):
            self._name, self._options, self._is_text = its.get("name", ""), [], tag == "textarea"
            if self._is_text:
                self.values[self._name].append("")
        elif tag == "option":
            self._options.append((its.get("value", ""), "selected" in its))

    def _put_input(self, its: dict[str, str]) -> None:
        kind, name = its.get("type", "text"), its.get("name", "")
        is_sent = "checked" in its if kind in ("checkbox", "radio") else kind not in ("submit", "button", "file")
        if name and is_sent and name != "csrfmiddlewaretoken":
            self.values[name].append(its.get("value", "on" if kind == "checkbox" else ""))

    def handle_data(self, data: str) -> None:
        if self._is_inside and self._is_text:
            self.values[self._name][-1] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._is_inside = False
        elif tag == "textarea":
            self._is_text = False
        elif tag == "select" and self._is_inside and self._options:
            chosen = [value for value, is_chosen in self._options if is_chosen] or [self._options[0][0]]
            self.values[self._name] += chosen
