"""Every whole path is walked on a new account: nobody's own folder, nothing in it.

What our processes use that is deprecated is an error in each of them.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from stillset_program import DEPRECATIONS, empty_account, without_account


@pytest.fixture(autouse=True)
def account(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The new account's own folder."""
    for name in set(os.environ) - set(without_account(os.environ)):
        monkeypatch.delenv(name)
    monkeypatch.setenv("PYTHONWARNINGS", DEPRECATIONS)
    folder = empty_account(tmp_path)
    monkeypatch.setenv("HOME", str(folder))
    return folder
