"""What a browser calls itself, as a person would say it: Chrome on Android."""

import re

#: The first that fits: most browsers call themselves by the names of others as well.
_BROWSERS = (
    ("Edge", r"\bEdg(e|A|iOS)?/"),
    ("Opera", r"\bOPR/"),
    ("Samsung Internet", r"\bSamsungBrowser/"),
    ("Firefox", r"\b(Firefox|FxiOS)/"),
    ("Chrome", r"\b(Chrome|Chromium|HeadlessChrome|CriOS)/"),
    ("Safari", r"\bSafari/"),
)
_SYSTEMS = (
    ("Android", r"\bAndroid\b"),
    ("an iPhone", r"\biPhone\b"),
    ("an iPad", r"\biPad\b"),
    ("Windows", r"\bWindows\b"),
    ("a Mac", r"\bMac ?OS\b|\bMacintosh\b"),
    ("Chrome OS", r"\bCrOS\b"),
    ("Linux", r"\bLinux\b"),
)


def words(user_agent: str) -> str:
    """Browser and system in words; what is not known is said to be."""
    browser = _first(_BROWSERS, user_agent) or "A browser"
    system = _first(_SYSTEMS, user_agent)
    return f"{browser} on {system}" if system else f"{browser} on an unknown device"


def _first(named: tuple[tuple[str, str], ...], user_agent: str) -> str:
    return next((name for name, pattern in named if re.search(pattern, user_agent)), "")
