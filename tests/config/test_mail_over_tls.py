"""Mail goes over TLS where the settings say so: to a server that shows who it is, or not at all."""

import socket
import ssl
import threading
from collections.abc import Iterator
from pathlib import Path
from smtplib import SMTPNotSupportedError

import pytest
from django.core.mail import EmailMessage
from django.core.mail.backends.smtp import EmailBackend

from tests.certificates import own_certificate
from tests.mailserver import MailServer


class SecureMailServer:
    """A mail server with a certificate that nobody vouches for; it hears one client, up to where that leaves."""

    def __init__(self, folder: Path) -> None:
        self._tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self._tls.load_cert_chain(own_certificate(folder))
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.settimeout(10)
        self.port = self._listener.getsockname()[1]
        self.commands: list[str] = []
        self._thread = threading.Thread(target=self._serve)

    def __enter__(self) -> "SecureMailServer":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._thread.join(10)
        self._listener.close()

    def _serve(self) -> None:
        client, _ = self._listener.accept()
        client.settimeout(10)
        with client, client.makefile("rb") as lines:
            client.sendall(b"220 mail.test\r\n")
            for line in lines:
                self.commands.append(line.split()[0].decode().upper())
                if self.commands[-1] == "STARTTLS":
                    client.sendall(b"220 go on\r\n")
                    break
                client.sendall(b"250-mail.test\r\n250 STARTTLS\r\n")
            # It is the client that breaks off; had it not, this would go on without an error.
            with pytest.raises(ssl.SSLError), self._tls.wrap_socket(client, server_side=True) as secured:
                self.commands.append(secured.recv(1_000).decode())


@pytest.fixture
def secure_server(tmp_path: Path) -> Iterator[SecureMailServer]:
    with SecureMailServer(tmp_path) as server:
        yield server


def send(port: int) -> None:
    backend = EmailBackend(host="localhost", port=port, use_tls=True, username="", password="", timeout=10)
    try:
        EmailMessage("A subject", "A text", "book@book.example", ["keeper@book.example"], connection=backend).send()
    finally:
        for left in (backend.connection, getattr(backend, "_partial_connection", None)):
            if left:  # Django leaves it open where it cannot be made secure
                left.close()


def test_a_server_whose_certificate_nobody_vouches_for_gets_nothing(secure_server: SecureMailServer) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        send(secure_server.port)
    assert secure_server.commands == ["EHLO", "STARTTLS"]


def test_a_server_without_tls_gets_nothing_in_clear(smtp_server: MailServer) -> None:
    with pytest.raises(SMTPNotSupportedError):
        send(smtp_server.port)
    assert smtp_server.messages == []
