"""Browsers and systems in words."""

import pytest

from instructors.signing_in.agents import words

LIKE_GECKO = "AppleWebKit/537.36 (KHTML, like Gecko)"


@pytest.mark.parametrize(
    ("user_agent", "said"),
    [
        (f"Mozilla/5.0 (Linux; Android 10; K) {LIKE_GECKO} Chrome/131.0.0.0 Mobile Safari/537.36", "Chrome on Android"),
        (
            f"Mozilla/5.0 (Linux; Android 10; K) {LIKE_GECKO} SamsungBrowser/27.0 Chrome/125.0.0.0 Safari/537.36",
            "Samsung Internet on Android",
        ),
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_1 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
            "Version/18.1 Mobile/15E148 Safari/604.1",
            "Safari on an iPhone",
        ),
        (
            "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.1 "
            "Safari/605.1.15",
            "Safari on a Mac",
        ),
        (
            f"Mozilla/5.0 (Windows NT 10.0; Win64; x64) {LIKE_GECKO} Chrome/131.0.0.0 Safari/537.36 Edg/131.0.0.0",
            "Edge on Windows",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:133.0) Gecko/20100101 Firefox/133.0", "Firefox on Linux"),
        ("curl/8.1", "A browser on an unknown device"),
        ("", "A browser on an unknown device"),
    ],
)
def test_a_browser_is_called_as_people_call_it(user_agent: str, said: str) -> None:
    assert words(user_agent) == said
