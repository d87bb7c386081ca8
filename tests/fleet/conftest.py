"""What every test of the fleet begins with."""

from pathlib import Path

import pytest
from django.conf import settings


@pytest.fixture(autouse=True)
def _served_nowhere() -> None:
    """A server of another test may have written down where it listened, and each mail would lead there."""
    (Path(settings.DATA_DIR) / "served_at").unlink(missing_ok=True)
