"""Real repositories in a folder of the test's own, away from the settings of the machine."""

import os
import subprocess
from pathlib import Path

SHEET = """\
sheet  rack-2
source "fitting guide, page 4"
rule   simple
joint  foot-1..4  12 Nm +-10 %
part   cell-A..B  serial like "NB####"
reading insulation  dc/earth  >= 1 MΩ at 500 V
look   wall-sound
"""
KIT = """\
kit    van-9
tool   TW3  torque-wrench  4..20 Nm  +-4 %  serial 51
tool   MF1  insulation  0..999 MΩ +-3 %  serial 20
calibrated TW3  2026-01-15  due 2027-01-15  cert K-1
calibrated MF1  2026-01-15  due 2027-01-15  cert K-2
"""
LOG = """\
site   north-1
sheet  rack-2
kit    van-9
crew   mo  lead
crew   jp  apprentice
day 2026-03-02
09:00  serial  cell-A..B   NB0400 NB0410
09:10  torque  foot-1..4   12.0 12.1 11.9 12.2 Nm  with TW3
09:30  reading insulation dc/earth  200 MΩ at 500 V  with MF1
09:40  look    wall-sound ok
09:50  note    the owner was there
"""
SECOND = LOG.replace("north-1", "south-2").replace("NB04", "NB05")

FILES = {"rack.sheet": SHEET, "van.kit": KIT, "north-1.site": LOG}

_ALONE = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
_WHO = ("-c", "user.name=mo", "-c", "user.email=mo@example.invalid", "-c", "init.defaultBranch=main")


class Repository:
    """A repository with commands to write, delete and commit files."""

    def __init__(self, path: Path, *options: str) -> None:
        self.path = path
        path.mkdir(exist_ok=True)
        self.git("init", "-q", *options)

    def git(self, *arguments: str) -> str:
        done = subprocess.run(
            ["git", *_WHO, *arguments],
            cwd=self.path,
            env={**os.environ, **_ALONE},
            capture_output=True,
            check=True,
        )
        return done.stdout.decode().strip()

    def write(self, files: dict[str, str | bytes]) -> None:
        for name, text in files.items():
            path = self.path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text if isinstance(text, bytes) else text.encode())

    def replace(self, name: str, old: str, new: str) -> None:
        """Put one text in the place of another that is there."""
        text = (self.path / name).read_bytes().decode()
        assert old in text
        self.write({name: text.replace(old, new)})

    def commit(self, files: dict[str, str | bytes] | None = None) -> str:
        self.write(files or {})
        self.git("add", "-A")
        self.git("commit", "-q", "--allow-empty", "-m", "work")
        return self.git("rev-parse", "HEAD")
