"""Running the command as a person does, in a folder of its own."""

import atexit
import os
import shutil
import sys
import tempfile
from contextlib import chdir
from io import BytesIO, TextIOWrapper
from pathlib import Path
from unittest.mock import patch

from sitelog.cli.main import main

CHECKOUT = Path(__file__).parents[2]
EXAMPLES = CHECKOUT / "example_logs"

KEPT = tempfile.mkdtemp(prefix="sitelog-kept-")  # what one run keeps for the next, so that they are quick
atexit.register(shutil.rmtree, KEPT, ignore_errors=True)

SHEET = """\
sheet  twin-5 revision B
source "guide B"
rule   simple
step   delivery
look   wall-sound
part   module-A..C   serial like "TW##-###"
hole   foot-1..2     10 mm +0.5/-0 x 50 mm +10/-0
joint  foot-1..3     M8   12 Nm +-10 %
step   breaker-off   caution "pull, then look"
joint  lug-1..3      M5   4 Nm +-10 %   while breaker-off
reading insulation   dc/earth   >= 1 MΩ at 500 V   while breaker-off
step   breaker-on    after lug, insulation   caution "cover closed"
step   fault-lamp    60 s after breaker-on
reading loop         q2/earth   <= 2/3 * 230 V / q2.Ia
dead   L/N           <= 25 V
cable  battery/inverter   drop <= 2 %   size >= 4 mm2
set    firmware inverter  >= 2.8
series discharge     energy >= 4 kWh
photo  label
ref    permit
registered module-A..C
look   vents-clean   for service
step   taken-down    for removal
stage  fixing: delivery, wall-sound, module, foot
stage  wiring: breaker-off, lug, insulation
"""

KIT = """\
kit   van-7
tool  TW3  torque-wrench  8..20 Nm  +-4 %
tool  TD1  torque-driver  1..6 Nm   +-6 %
tool  TD2  torque-driver  1..8 Nm   +-6 %
tool  MF1  insulation  0..999 MΩ +-3 %,  loop  0..20 ohm +-3 %
tool  VT1  voltage-tester  12..1000 V  proved on PU1
tool  PU1  proving-unit
calibrated TW3  2026-01-15  due 2027-01-15  cert K-1
calibrated TD1  2026-01-15  due 2027-01-15  cert K-2
calibrated TD2  2026-01-15  due 2027-01-15  cert K-3
calibrated MF1  2026-01-15  due 2027-01-15  cert K-4
"""

LOG = """\
site   hill-9
sheet  twin-5
kit    van-7
crew   mo  lead

visit  install
day 2026-03-02
08:00  use     TW3, TD1, MF1
"""


def command(*arguments):
    """The words of a command."""
    return [sys.executable, "-m", "sitelog", *map(str, arguments)]


def environment(**more):
    """An environment of its own, away from what the developer's own runs keep."""
    return {**os.environ, "PYTHONPATH": str(CHECKOUT), "SITELOG_CACHE": KEPT, **more}


def run(folder, *arguments, input=b""):
    """Run the command in a folder; status, standard output and standard error.

    In this process, which has read the grammar already. What a process of its own does besides is tested
    where `command` is used, and in tests/cli.
    """
    streams = {name: TextIOWrapper(BytesIO(), "utf-8", newline="") for name in ("stdout", "stderr")}
    streams["stdin"] = TextIOWrapper(BytesIO(input), "utf-8")
    with chdir(folder), patch.multiple(sys, **streams), patch.dict(os.environ, SITELOG_CACHE=""):
        status = main([str(word) for word in arguments])
    for stream in streams.values():
        stream.flush()
    return status, streams["stdout"].buffer.getvalue().decode(), streams["stderr"].buffer.getvalue().decode()


def a_site(folder, log=LOG):
    """A folder with the sheet, the kit and, where there is to be one, the log; the log's path."""
    (folder / "twin-5.sheet").write_text(SHEET, encoding="utf-8")
    (folder / "van-7.kit").write_text(KIT, encoding="utf-8")
    path = folder / "hill-9.site"
    if log:
        path.write_text(log, encoding="utf-8", newline="")
    return path
