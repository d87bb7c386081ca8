"""What members do, for locust: each logs what happened and looks at what it cost; one coordinates.

``bench.load`` writes down who they are. Whatever is not answered as a member should be answered is a failure: another
status, a form that was not saved, a page of another kind.
"""

import html
import itertools
import json
import os
import random
import re
from pathlib import Path
from typing import Any, cast
from urllib.parse import urlencode
from uuid import uuid4

from locust import FastHttpUser, between, constant, task

_told = json.loads(Path(os.environ["LOAD_MEMBERS"]).read_text())
_AT: dict[str, str] = _told["addresses"]
_PHOTO = Path(_told["photo"])
_members, _coordinators = itertools.cycle(_told["members"]), itertools.cycle(_told["coordinators"])
#: Seconds between two things that a member does; none where the highest rate is looked for.
_PAUSE = constant(0) if os.environ["LOAD_PAUSE"] == "none" else between(3, 9)
_BOUNDARY = "one-part-ends-here"


class Visitor(FastHttpUser):
    """A browser in which somebody is signed in, behind a proxy that ends https."""

    abstract = True
    wait_time = _PAUSE
    who: dict[str, Any]

    def on_start(self) -> None:
        """Get the token that forms are sent with."""
        self.sent = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.1", "Host": "localhost"}
        self.sent |= {"Cookie": self.who["cookie"], "Accept-Encoding": "gzip", "Referer": "https://localhost/"}
        answer = self.client.get(_AT["fill"], headers=self.sent, name="(first page)")
        # The session's cookie may be set anew beside it.
        [token] = re.findall(r"__Host-csrftoken=\w+", str(cast(Any, answer.headers)["Set-Cookie"]))
        self.sent["Cookie"] += f"; {token}"

    def open(self, what: str, holds: str = "</html>") -> str:
        """A page, which must hold these words."""
        with self.client.get(
            _AT[what], headers=self.sent, name=what, allow_redirects=False, catch_response=True
        ) as answer:
            text = answer.text or ""
            if answer.status_code != 200 or holds not in text:
                answer.failure(f"{answer.status_code} without {holds!r}")
            return text

    def save(self, what: str, typed: dict[str, str], photo: bytes = b"") -> None:
        """Send the form of a log page as it was ``typed``; what the book asks is answered by "it is right"."""
        page = self.open(what, "csrfmiddlewaretoken")
        fields = {"csrfmiddlewaretoken": _value(page, "csrfmiddlewaretoken"), "ref": str(uuid4())} | typed
        name = f"{what}, saved with a photo" if photo else f"{what}, saved"
        for _ in range(4):
            body, kind = _multipart(fields, photo) if photo else _urlencoded(fields)
            headers = self.sent | {"Content-Type": kind}
            with self.client.post(
                _AT[what], data=cast(Any, body), headers=headers, name=name, allow_redirects=False, catch_response=True
            ) as answer:
                asked = re.findall(r'name="is_right"\s+value="([^"]+)"', answer.text or "")
                if answer.status_code == 200 and asked:
                    fields["is_right"] = " ".join([fields.get("is_right", ""), *map(html.unescape, asked)]).strip()
                    continue
                if answer.status_code != 303:
                    _, _, refusal = (answer.text or "").partition('class="errors"')
                    words = " ".join(re.sub(r"<[^>]*>", " ", refusal.partition(">")[2][:600]).split())
                    answer.failure(f"{answer.status_code} {words}")
                break
        self.open("home")


class Instructor(Visitor):
    """A member with a car."""

    weight = 49

    def on_start(self) -> None:
        """Take one of the members, whose car has been driven so far."""
        self.who = next(_members)
        self.miles = int(self.who["miles"])
        super().on_start()

    @task(10)
    def look_at_home(self) -> None:
        self.open("home")

    @task(4)
    def log_a_fill(self) -> None:
        self._fill(b"")

    @task(1)
    def log_a_fill_with_its_receipt(self) -> None:
        self._fill(_PHOTO.read_bytes())

    def _fill(self, photo: bytes) -> None:
        self.miles += 190
        litres = random.randint(180, 240) / 10  # noqa: S311 - made-up figures
        typed = {"amount": f"{litres * 1.42:.2f}", "quantity": f"{litres:.1f}", "odometer": str(self.miles)}
        typed |= {"car": self.who["mark"], "filled_on": _told["today"], "brimmed": "on"}
        self.save("fill", typed, photo)

    @task(3)
    def log_a_week_of_lessons(self) -> None:
        # The days of this week so far: the one before is within the last record of the made-up book.
        days = {f"day_{number}": str(random.randint(3, 6)) for number in range(2)}  # noqa: S311
        week = {"week": _told["monday"], "how": "replace", "lesson_minutes": "75", "private_miles": "40", "hours": ""}
        self.save("lessons", {"car": self.who["mark"], **{f"day_{number}": "" for number in range(2, 7)}} | week | days)

    @task(3)
    def log_a_cost(self) -> None:
        pence = random.randint(900, 14_000)  # noqa: S311
        typed = {"category": "cleaning", "amount": f"{pence / 100:.2f}", "paid_on": _told["today"]}
        self.save("cost", {"car": self.who["mark"]} | typed)

    @task(3)
    def look_at_the_statement(self) -> None:
        self.open("statement")

    @task(2)
    def look_at_the_group(self) -> None:
        self.open("group")


class Coordinator(Visitor):
    """Whoever looks after the book."""

    fixed_count = 1

    def on_start(self) -> None:
        self.who = next(_coordinators)
        super().on_start()

    @task
    def look_at_the_board(self) -> None:
        self.open("board")


def _value(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    return found[1] if found else ""


def _urlencoded(fields: dict[str, str]) -> tuple[bytes, str]:
    return urlencode(fields).encode(), "application/x-www-form-urlencoded"


def _multipart(fields: dict[str, str], photo: bytes) -> tuple[bytes, str]:
    parts = [
        f'--{_BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in fields.items()
    ]
    head = f'--{_BOUNDARY}\r\nContent-Disposition: form-data; name="receipt"; filename="r.jpg"\r\n'
    body = "".join(parts).encode() + head.encode() + b"Content-Type: image/jpeg\r\n\r\n" + photo
    return body + f"\r\n--{_BOUNDARY}--\r\n".encode(), f"multipart/form-data; boundary={_BOUNDARY}"
