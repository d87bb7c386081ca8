"""A real proxy in front of the really served book, and clients at different addresses of this machine."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.urls import reverse

from instructors.models import Member
from instructors.signing_in.limits import TRIES_BY_CLIENT_AT_ADDRESS
from tests.processes import BookProcess
from tests.servers import Proxy, free_port, takes_connections, wait_until
from tests.visitor import Visitor

LOGIN = reverse("account_login")
PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member
ONE, OTHER = "127.0.0.2", "127.0.0.3"


@pytest.fixture
def member(transactional_db: None, keeper: Member) -> Member:
    """The keeper, whose password a process with the book's real settings can check."""
    keeper.password = Argon2PasswordHasher().encode(PASSWORD, "salt-of-a-test")
    keeper.save()
    return keeper


@pytest.fixture
def serve(
    member: Member, book_process: Callable[..., BookProcess], tmp_path: Path
) -> Iterator[Callable[..., tuple[int, int]]]:
    """A function that serves the book behind a proxy, with settings; the ports of the proxy and of the book itself."""
    proxies: list[Proxy] = []

    def serve(**variables: str) -> tuple[int, int]:
        port = free_port()
        site = book_process("manage.py", "serve", f"127.0.0.1:{port}", **variables)

        def answers() -> bool:
            assert site.process.poll() is None, site.output()
            return takes_connections(port)

        wait_until(answers, "the book")
        proxies.append(Proxy(tmp_path, site_port=port))
        proxies[-1].start()
        return proxies[-1].port, port

    yield serve
    for proxy in proxies:
        proxy.stop()


def status_of_try(visitor: Visitor, password: str = "") -> int:
    """The status of the answer: 302 who is let in, 200 who is wrong, 429 who has to wait."""
    return visitor.post(LOGIN, login="keeper@book.example", password=password or "not this one").status


def use_up_tries(port: int, **headers: str) -> None:
    tries = [status_of_try(Visitor(port, comes_from=ONE, **headers)) for _ in range(TRIES_BY_CLIENT_AT_ADDRESS.most)]
    assert set(tries) == {200}


def test_one_clients_wrong_tries_are_not_the_others(serve: Callable[..., tuple[int, int]]) -> None:
    through_proxy, _ = serve(TRUSTED_PROXIES="1")
    use_up_tries(through_proxy)
    assert status_of_try(Visitor(through_proxy, comes_from=ONE), PASSWORD) == 429
    assert status_of_try(Visitor(through_proxy, comes_from=OTHER), PASSWORD) == 302


def test_no_client_escapes_its_limit_by_a_header_of_its_own(serve: Callable[..., tuple[int, int]]) -> None:
    through_proxy, _ = serve(TRUSTED_PROXIES="1")
    use_up_tries(through_proxy)
    for address in (OTHER, "198.51.100.7", f"198.51.100.7, {OTHER}", "nonsense"):
        assert status_of_try(Visitor(through_proxy, comes_from=ONE, X_Forwarded_For=address), PASSWORD) == 429
    # Nor does anybody use up another's by naming them.
    assert status_of_try(Visitor(through_proxy, comes_from=OTHER), PASSWORD) == 302


@pytest.mark.parametrize(("proxies", "status"), [("0", 301), ("1", 200)])
def test_only_a_trusted_proxy_is_believed_that_the_connection_is_secure(
    serve: Callable[..., tuple[int, int]], proxies: str, status: int
) -> None:
    _, past_proxy = serve(TRUSTED_PROXIES=proxies, SITE_URL="https://localhost")
    assert Visitor(past_proxy, X_Forwarded_Proto="https").get(LOGIN).status == status


def test_without_the_setting_a_header_is_no_more_than_words(serve: Callable[..., tuple[int, int]]) -> None:
    _, past_proxy = serve()
    use_up_tries(past_proxy)
    assert status_of_try(Visitor(past_proxy, comes_from=ONE, X_Forwarded_For="198.51.100.7"), PASSWORD) == 429
    assert status_of_try(Visitor(past_proxy, comes_from=OTHER), PASSWORD) == 302
