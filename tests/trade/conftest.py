"""The commands run here keep nothing in the user's own cache folder."""

import pytest


@pytest.fixture(autouse=True)
def _keep_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SITELOG_CACHE", "")
