"""A real mail server on a free local port, for tests that send."""

import asyncio
import email
import email.policy
import threading
from email.message import EmailMessage
from typing import Literal, cast

from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.servers import wait_until

_REFUSAL = "451 4.3.0 Not now, try again later"
_NOBODY = "550 5.1.1 Nobody here has this address"


class MailServer:
    """Takes messages, or refuses them for now with a 451, the way a busy or greylisting server does.

    ``messages`` holds what was taken, oldest first; ``refused_count`` counts what was not. While it is ``dying``, the
    connection ends once a message has come, "before" it was taken or "after", and nobody is told which. Of the
    addresses in ``nobody_at`` it says that nobody has them.
    """

    def __init__(self) -> None:
        self.messages: list[EmailMessage] = []
        self.refusing = False
        self.refused_count = 0
        self.dying: Literal["", "before", "after"] = ""
        self.nobody_at: set[str] = set()
        self.port = 0
        self._refusals_left = 0
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, name="mail server", daemon=True)

    @property
    def url(self) -> str:
        """Its address, as EMAIL_URL takes it."""
        return f"smtp://127.0.0.1:{self.port}"

    def clear(self) -> None:
        """Forget all messages and take new ones again."""
        self.messages.clear()
        self.refusing = False
        self.dying = ""
        self.nobody_at.clear()
        self.refused_count = self._refusals_left = 0

    def refuse_next(self, count: int) -> None:
        """Refuse the next ``count`` messages and take those after them."""
        self._refusals_left = count

    def wait_for(self, count: int) -> list[EmailMessage]:
        """The messages, once there are ``count`` of them from other processes; else TimeoutError."""
        wait_until(lambda: len(self.messages) >= count, f"message number {count}")
        return self.messages

    def all_sent(self) -> list[EmailMessage]:
        """The messages, once this process has handed over all that it sends beside its requests."""
        for thread in threading.enumerate():
            if thread.name == "mail":
                thread.join(10)
        return self.messages

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        """Called by aiosmtpd for each recipient of a message."""
        if address in self.nobody_at:
            return _NOBODY
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        """Called by aiosmtpd when a whole message has come."""
        if self.refusing or self._refusals_left:
            self._refusals_left = max(0, self._refusals_left - 1)
            self.refused_count += 1
            return _REFUSAL
        message = email.message_from_bytes(cast(bytes, envelope.content), policy=email.policy.default)
        if self.dying != "before":
            self.messages.append(message)
        if self.dying:
            cast(asyncio.Transport, server.transport).abort()
        return "250 OK"

    def start(self) -> None:
        """Listen on a free port of this machine."""
        self._thread.start()
        self.port = asyncio.run_coroutine_threadsafe(self._listen(), self._loop).result(10)

    async def _listen(self) -> int:
        def connection() -> SMTP:
            return SMTP(self, hostname="mail.test", loop=self._loop)

        self._server = await self._loop.create_server(connection, "127.0.0.1", 0)
        return int(self._server.sockets[0].getsockname()[1])

    def stop(self) -> None:
        """Stop listening."""
        self._loop.call_soon_threadsafe(self._server.close)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()
