"""Checkers that the Node package registry keeps, each in one exact version, fetched once and kept."""

import os
import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

# Only files are wanted of them; nothing of theirs is run while they are installed.
_INSTALL = ("install", "--ignore-scripts", "--no-audit", "--no-fund", "--no-save", "--silent")


def package(name: str, version: str) -> Path:
    """The folder of a package; the test is skipped, with the reason, where it cannot be had."""
    home = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    kept = Path(home) / "sitelog-tests" / f"{name}-{version}"
    if not kept.exists():
        npm = shutil.which("npm")
        if npm is None:
            pytest.skip(f"{name} comes from npm, which is not installed")
        kept.parent.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=kept.parent) as folder:
            command = [npm, *_INSTALL, f"{name}@{version}"]
            try:
                done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=120)
            except subprocess.TimeoutExpired:
                pytest.skip(f"npm did not fetch {name} {version} within two minutes")
            got = Path(folder) / "node_modules" / name
            if done.returncode or not got.exists():
                pytest.skip(f"npm cannot fetch {name} {version} here: {done.stderr.strip()[:200]}")
            try:
                got.rename(kept)
            except OSError:  # another worker was quicker
                assert kept.exists()
    return kept
