"""What is posted to a web hook: over https, to that address alone, and soon given up."""

import time

import pytest

from config import web_hook
from config.web_hook import NotTaken
from tests.hookserver import HookServer


def test_it_is_posted_as_json(hook_server: HookServer) -> None:
    web_hook.post(hook_server.url, {"duty": "red", "text": "Łąkowska"})
    assert (hook_server.taken, hook_server.asked) == ([{"duty": "red", "text": "Łąkowska"}], ["/secret-path"])
    web_hook.reach(hook_server.url)
    assert len(hook_server.asked) == 1


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_it_is_led_nowhere_else(status: int, hook_server: HookServer) -> None:
    hook_server.status = status
    with pytest.raises(NotTaken, match=rf"^The web hook answered {status}\.$"):
        web_hook.post(hook_server.url, {})
    assert hook_server.asked == ["/secret-path"]


@pytest.mark.parametrize("status", [400, 404, 500])
def test_a_refusal_is_told_without_the_address(status: int, hook_server: HookServer) -> None:
    hook_server.status = status
    with pytest.raises(NotTaken) as refused:
        web_hook.post(hook_server.url, {})
    assert str(refused.value) == f"The web hook answered {status}."
    assert refused.value.__suppress_context__


def test_one_that_hangs_is_given_up_within_seconds(hook_server: HookServer, monkeypatch: pytest.MonkeyPatch) -> None:
    assert web_hook.PATIENCE <= 5
    monkeypatch.setattr(web_hook, "PATIENCE", 1)
    hook_server.seconds = 60
    began = time.perf_counter()
    with pytest.raises(NotTaken, match="did not answer within 1 seconds"):
        web_hook.post(hook_server.url, {})
    assert time.perf_counter() - began < 30


@pytest.mark.parametrize("ask", [web_hook.reach, lambda address: web_hook.post(address, {})])
def test_nobody_is_believed_who_cannot_show_who_he_is(
    ask, hook_server: HookServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("SSL_CERT_FILE")
    with pytest.raises(NotTaken, match="cannot show who it is"):
        ask(hook_server.url)
    assert hook_server.asked == []


@pytest.mark.parametrize(
    "address", ["https://127.0.0.1:1/secret", "https://hook.invalid/secret", "http://localhost/secret"]
)
def test_one_that_is_not_there_or_in_clear_is_told_without_its_address(address: str) -> None:
    with pytest.raises(NotTaken) as refused:
        web_hook.post(address, {})
    assert "secret" not in str(refused.value)
