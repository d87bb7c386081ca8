"""What a run over mutants of the cores asks of their tests (tests/endure.py): to fail soon."""

import hypothesis
import pytest

_MUTANTS = "mutants"
# A failure need not be made small, and every test runs thousands of times.
hypothesis.settings.register_profile(
    _MUTANTS,
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=25,
    phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
    report_multiple_bugs=False,
    suppress_health_check=list(hypothesis.HealthCheck),
)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Try worked examples first, for they take no time and kill most mutants."""
    if config.getoption("--hypothesis-profile") == _MUTANTS:
        items.sort(key=lambda item: getattr(getattr(item, "obj", None), "is_hypothesis_test", False))
