"""Invented fleets of site logs, of any size, the same for the same seed.

Every log is one install of about forty-five lines by the sheet and the kit below: serials, holes,
joints, tests, remarks in free words, a defect, a permit, a signature. One line in so many can be
made faulty, with the slips people make.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

SHEET = """\
sheet   tallstack-3 revision B  "Tall stack, three modules"
source  "guide for tallstack-3, revision B"
rule    simple
part    module-A..C   serial like "NK####-#####"
hole    anchor-1..6   12 mm +0.5/-0 x 60 mm +10/-0
joint   bracket-1..8  M8 class 8.8   12 Nm +-10 %
joint   strap-1..4    M5   4 Nm +-10 %
look    wall-sound, ventilation
reading insulation  dc-pos/earth, dc-neg/earth, ac/earth   >= 1 Mohm at 500 V
reading continuity  frame/earth   <= 1 ohm
reading voltage     dc-pos/dc-neg   270..345 V
reading voltage     L1/N, L1/PE, N/PE, q2/earth   <= 260 V
reading cell-voltage module-A..C   3.0..3.6 V
cable   battery/inverter   drop <= 1 %   size >= 6 mm2
set     firmware inverter  >= 4.10
step    delivery
step    breaker-on   after bracket, continuity
step    breaker-off  after fault-lamp
step    fault-lamp   60 s after breaker-on
"""

KIT = """\
kit    van-7
tool   TD1  torque-driver   1..6 Nm    +-6 %   serial 30118
tool   TW3  torque-wrench   4..20 Nm   +-4 %   serial 30119
tool   MF1  insulation  0..999 Mohm +-3 %,  continuity  0..20 ohm +-2 %   serial 30120
tool   MM1  voltage     0..1000 V  +-0.5 %   serial 30121
calibrated TW3  2026-01-15  due 2027-01-15  cert C-118  found 11.9 Nm at 12 Nm  U 0.8 %
calibrated TD1  2026-01-15  due 2027-01-15  cert C-119
calibrated MF1  2025-12-03  due 2026-12-03  cert C-120
calibrated MM1  2025-12-03  due 2026-12-03  cert C-121
"""

_VOCABULARY = (
    "the a owner lid hinge cable wall loose tight dusty again back van until rain stopped found moved "
    "left right lower upper bolt washer with without at by of not on from to gasket scratched near "
    "door label missing late early called office asked for a photo of it next week and then went home "
    "after lunch in the cellar"
)
_WORDS = _VOCABULARY.split()
_CREW = ("mo", "jp", "ana", "kit-b")
_STREETS = ("quay", "mill", "barn", "chapel-row", "orchard", "depot")


class _Job:
    """One log being written."""

    def __init__(self, random: Random, number: int) -> None:
        self.random = random
        self.number = number
        self.minutes = 7 * 60 + random.randrange(60)
        self.lines: list[str] = []

    def words(self, least: int, most: int) -> str:
        return " ".join(self.random.choices(_WORDS, k=self.random.randint(least, most)))

    def near(self, target: float, share: float, digits: int = 1) -> str:
        return f"{self.random.gauss(target, share * target):.{digits}f}"

    def serial(self) -> str:
        return f"NK{self.random.randrange(2500, 2700)}-{self.random.randrange(100_000):05}"

    def at(self, kind: str, rest: str) -> None:
        """An entry with its time, now and then with a remark."""
        self.minutes += self.random.randrange(1, 9)
        remark = f"   -- {self.words(1, 7)}" if self.random.random() < 0.2 else ""
        self.lines.append(f"{self.minutes // 60:02}:{self.minutes % 60:02}  {kind:<7} {rest}{remark}")

    def torque(self, group: str, count: int, target: float) -> None:
        values = " ".join(self.near(target, 0.02) for _ in range(count))
        self.at("torque", f"{group}-1..{count}         {values} Nm")


def _log(random: Random, number: int) -> list[str]:
    job = _Job(random, number)
    lead, other = random.sample(_CREW, 2)
    job.lines += [
        f'site   {random.choice(_STREETS)}-{number}  "{job.words(2, 4)}"',
        "sheet  tallstack-3 revision B",
        "kit    van-7",
        f"crew   {lead}  lead",
        f"crew   {other}  apprentice",
        "",
        "visit  install",
        f"day 2026-{random.randint(1, 12):02}-{random.randint(1, 28):02}  {random.randint(2, 31)} degC, dry",
    ]
    job.at("use", "MF1, MM1, TW3, TD1")
    job.at("did", "delivery")
    serials = [job.serial() for _ in range(3)]
    job.at("serial", f"module-A..C         {' '.join(serials)}")
    job.at("look", "wall-sound, ventilation ok")
    job.at("hole", f"anchor-1..6         {job.near(12.2, 0.005)} mm x {random.randint(60, 70)} mm")
    job.at("torque", "bracket-1..8        pre 4 Nm")
    job.torque("bracket", 8, 12)
    job.at("torque", f"bracket-{random.randint(1, 8)}           click 12 Nm  with TW3")
    for place in range(1, 5):
        job.at("torque", f"strap-{place}             {job.near(4, 0.03, 2)} Nm with TD1 by {other}")
    job.at("reading", f"insulation dc-pos/earth   >{random.choice((500, 999))} MΩ at 500 V")
    job.at(
        "reading", f"insulation dc-neg/earth   {random.randint(20, 900)} MΩ at {random.randint(500, 520)} V"
    )
    job.at("reading", f"continuity frame/earth    {job.near(0.12, 0.2, 2)} ohm")
    size, length, current = random.choice((6, 10, 16)), job.near(5, 0.3), random.randint(18, 24)
    job.at(
        "cable",
        f"battery/inverter  {size} mm2 Cu  {length} m  {current} A at 307 V dc  capacity 43 A  fuse 32 A",
    )
    job.at("did", "breaker-on")
    job.at("did", f"fault-lamp  waited {random.randint(60, 90)} s")
    job.at("reading", f"voltage dc-pos/dc-neg {job.near(307, 0.01)} V from control-unit")
    job.at("set", f"firmware inverter 4.{random.randint(10, 15)}")
    for module in "ABC":
        job.at("reading", f"cell-voltage module-{module} {job.near(3.3, 0.004, 3)} V")
    if random.random() < 0.5:
        job.at("defect", f"D1 minor {job.words(3, 7)}")
        job.at("photo", f'"IMG {random.randrange(10_000):04}.jpg" of D1')
        job.at("cleared", "D1")
    job.at("did", "breaker-off")
    job.at("loosed", "bracket-3..4")
    job.at("torque", f"bracket-3..4        {job.near(12, 0.02)} {job.near(12, 0.02)} Nm")
    job.at("swap", f"module-B {serials[1]} -> {job.serial()}")
    job.at("note", job.words(3, 10))
    job.at("reading", "insulation ac/earth  not tested")
    for place in ("L1/N", "L1/PE", "N/PE", "q2/earth"):
        job.at("reading", f"voltage {place} {random.randint(0, 240)} Vac with MM1")
    job.at("reading", f"insulation ac/earth  {random.randint(20, 900)} MΩ at 500 V")
    job.at("ref", f"permit {random.randbytes(8).hex()}")
    job.at("sign", f"{lead}  installed")
    return job.lines


def _slip(random: Random, line: str) -> str:
    """The line with one slip in it; most, not all, cannot be read any more."""
    words = line.split()
    if not words:
        return "xx"
    kind = random.randrange(8)
    at = random.randrange(len(words))
    if kind == 0 and len(words) > 1:  # a letter left out of the kind
        word = words[1]
        cut = random.randrange(len(word))
        return line.replace(word, word[:cut] + word[cut + 1 :], 1)
    if kind == 1:  # cut short
        return line[: random.randrange(len(line))]
    if kind == 2:  # a word too many
        words.insert(at, random.choice(_WORDS))
    elif kind == 3:  # a word left out
        del words[at]
    elif kind == 4:  # a stray sign
        words[at] += random.choice(('"', ")", "?", ";", "=", "--", "%%"))
    elif kind == 5:  # a range in other words
        return line.replace("..", " to ", 1)
    elif kind == 6:  # words behind the entry without a remark's dashes
        words += random.choices(_WORDS, k=3)
    else:  # a time in another form
        words[0] = words[0].replace(":", random.choice("hH.-"), 1)
    return "  ".join(words)


def logs(lines: int, *, seed: int = 1, faulty: int = 0) -> Iterator[list[str]]:
    """Logs of together at least so many lines; of their lines one in `faulty` has a slip (0: none)."""
    random = Random(seed)
    made = number = 0
    while made < lines:
        number += 1
        log = _log(random, number)
        if faulty:
            log = [_slip(random, line) if random.randrange(faulty) == 0 else line for line in log]
        made += len(log)
        yield log


def write(folder: Path, lines: int, *, seed: int = 1, faulty: int = 0) -> int:
    """A fleet on disk with its sheet and kit; the number of logs."""
    (folder / "tallstack-3.sheet").write_text(SHEET, encoding="utf-8")
    (folder / "van-7.kit").write_text(KIT, encoding="utf-8")
    count = 0
    for count, log in enumerate(logs(lines, seed=seed, faulty=faulty), 1):
        (folder / f"site-{count:05}.site").write_text("\n".join(log) + "\n", encoding="utf-8")
    return count
