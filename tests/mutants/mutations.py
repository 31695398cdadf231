"""The classes of mutation: each makes one thing wrong in a job that was right.

A class that sitelog cannot notice has the reason in `silent`. `None` from a class: the job has nothing that
it could be done to.
"""

import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from random import Random
from typing import NamedTuple

from tests.mutants.jobs import Job

Mutate = Callable[[Job, Random], Job | None]


class Mutation(NamedTuple):
    """One class: its name, what it does to a job, and why it may stay silent (empty where it may not)."""

    name: str
    mutate: Mutate
    silent: str
    helps: bool  # whether it may make a verdict of a faulty job better, as a higher value may


MUTATIONS: dict[str, Mutation] = {}


def mutation(name: str, *, silent: str = "", helps: bool = False) -> Callable[[Mutate], Mutate]:
    """Register a class of mutation."""

    def register(mutate: Mutate) -> Mutate:
        assert name not in MUTATIONS
        MUTATIONS[name] = Mutation(name, mutate, silent, helps)
        return mutate

    return register


# ---- reading a job -------------------------------------------------------------------------------------
_ENTRY = re.compile(
    r"^(?P<when>(?:\d{4}-\d\d-\d\d +)?\d{1,2}:\d\d(?::\d\d)?(?: [ap]m)? +)?(?P<kind>[a-z/]+)(?P<rest> .*)?$"
)
_REMARK = re.compile(r"  -- .*| — .*|  # .*")
_VALUE = re.compile(r"(?<![\w.,/-])(\d+(?:\.\d+)?)(?= ?(?:[A-Za-zΩ°%µ#-]|$))(?![\d./-])")

FINAL = ("torque", "reading", "hole", "dead", "look", "cable", "set", "serial", "did", "registered", "photo")


class Line(NamedTuple):
    """One entry of a log: its number from 0, its head, and what stands behind the kind but for the remark."""

    at: int
    when: str
    kind: str
    rest: str
    tail: str

    def text(self, rest: str) -> str:
        """The line with something else behind the kind."""
        return f"{self.when}{self.kind}{rest}{self.tail}"


def entries(job: Job, *kinds: str, file: str = "") -> list[Line]:
    """The entries of a file that are of some kinds, in order; of every kind where none is given."""
    found = []
    for at, text in enumerate(job.text(file or job.log)):
        match = _ENTRY.match(text)
        if match is None or (kinds and match["kind"] not in kinds):
            continue
        rest = match["rest"] or ""
        remark = _REMARK.search(rest)
        body, tail = (rest[: remark.start()], rest[remark.start() :]) if remark else (rest, "")
        found.append(Line(at, match["when"] or "", match["kind"], body.rstrip(), tail))
    return found


def standing(job: Job, *kinds: str) -> list[Line]:
    """The entries that prove something a sheet asks; of a device, each."""
    proving = {at for at, _, _ in job.evidence}
    return [line for line in entries(job, *kinds) if line.at in proving or line.kind == "device"]


def proves(job: Job, line: Line, start: int, end: int) -> bool:
    """Whether a stretch of an entry, counted behind its kind, proves something, or no stretch alone does."""
    before = len(line.when) + len(line.kind)
    spans = [span[1:] for span in job.evidence if span[0] == line.at]
    text = len(line.text(line.rest))
    return line.kind != "torque" or any(
        (first <= before + start < last or before + end > first >= before + start)
        or last - first >= text - before
        for first, last in spans
    )


def replace_line(job: Job, line: Line, rest: str) -> Job | None:
    """The job with another text behind an entry's kind; None where that changes nothing."""
    if rest == line.rest:
        return None
    lines = job.text(job.log)
    lines[line.at] = line.text(rest)
    return job.with_text(job.log, lines)


def insert(job: Job, at: int, *texts: str, file: str = "") -> Job:
    """The job with lines put in front of one."""
    file = file or job.log
    lines = job.text(file)
    return job.with_text(file, [*lines[:at], *texts, *lines[at:]])


def drop(job: Job, at: int, file: str = "") -> Job:
    """The job without one line."""
    file = file or job.log
    lines = job.text(file)
    return job.with_text(file, lines[:at] + lines[at + 1 :])


def pick(rng: Random, lines: list[Line]) -> Line | None:
    """One of some lines, None where there is none."""
    return rng.choice(lines) if lines else None


def edit(*kinds: str, pattern: str, to: str | Callable[[re.Match[str]], str], final: bool = True) -> Mutate:
    """A class that replaces one match of a pattern behind the kind of an entry; of evidence, if `final`."""

    def mutate(job: Job, rng: Random) -> Job | None:
        lines = standing(job, *kinds) if final else entries(job, *kinds)
        spots = [
            (line, match)
            for line in lines
            for match in re.finditer(pattern, line.rest)
            if not final or not match[0][:1].isdigit() or proves(job, line, match.start(), match.end())
        ]
        if not spots:
            return None
        line, match = rng.choice(spots)
        new = match.expand(to) if isinstance(to, str) else to(match)
        return replace_line(job, line, line.rest[: match.start()] + new + line.rest[match.end() :])

    return mutate


def scaled(factor: float) -> Callable[[re.Match[str]], str]:
    """A number times a factor, written as plainly."""
    return lambda match: f"{float(match[0]) * factor:.10g}"


def slip(word: str, rng: Random) -> str:
    """A word with two neighbouring letters changed about, as a hurried hand types it."""
    spots = [at for at in range(len(word) - 1) if word[at] != word[at + 1] and word[at : at + 2].isalpha()]
    if not spots:
        return word + "x"
    at = rng.choice(spots)
    return word[:at] + word[at + 1] + word[at] + word[at + 2 :]


# ---- evidence that is not there ------------------------------------------------------------------------
def _drop_standing(*kinds: str) -> Mutate:
    def mutate(job: Job, rng: Random) -> Job | None:
        line = pick(rng, standing(job, *kinds))
        return None if line is None else drop(job, line.at)

    return mutate


for _kind in FINAL:
    mutation(f"drop a line: {_kind}", silent="an earlier line proved the same")(_drop_standing(_kind))


@mutation("a value left blank", silent="an earlier good value stands, or the times prove the wait")
def _blank(job: Job, rng: Random) -> Job | None:
    return edit("torque", "reading", "hole", "dead", pattern=_VALUE.pattern, to="___")(job, rng)


@mutation("not tested")
def _not_tested(job: Job, rng: Random) -> Job | None:
    line = pick(rng, standing(job, "torque", "reading"))
    if line is None:
        return None
    head = line.rest.split()[: 2 if line.kind == "reading" else 1]
    return replace_line(job, line, " " + " ".join(head) + " not tested")


@mutation("one value short in a list", silent="of two values, the one left stands for both places")
def _short(job: Job, rng: Random) -> Job | None:
    return edit("torque", pattern=r"(?<= )(\d+\.?\d* )(?=\d+\.?\d* )", to="")(job, rng)


@mutation("one value too many in a list")
def _long(job: Job, rng: Random) -> Job | None:
    return edit("torque", pattern=r"(?<= )(\d+\.?\d* )(?=\d+\.?\d* )", to=r"\1\1")(job, rng)


@mutation("struck")
def _struck(job: Job, rng: Random) -> Job | None:
    line = pick(rng, standing(job, "torque", "reading", "hole"))
    if line is None:
        return None
    what = " ".join(line.rest.split()[: 2 if line.kind == "reading" else 1])
    return insert(job, line.at + 1, f"{line.when}strike {line.kind} {what} -- wrong place")


@mutation("pre-tightened only")
def _pre(job: Job, rng: Random) -> Job | None:
    lines = [
        line for line in standing(job, "torque") if not re.search(r" (pre|click|held|moved) ", line.rest)
    ]
    line = pick(rng, lines)
    if line is None:
        return None
    place, rest = line.rest.split()[0], " ".join(line.rest.split()[1:])
    return replace_line(job, line, f" {place} pre {rest}")


_SINCE = "what was measured with it then was measured again since"

# ---- values --------------------------------------------------------------------------------------------
mutation("a value ten times too large: torque", helps=True)(
    edit("torque", pattern=r"(?<= )\d+(?:\.\d+)?(?=(?: \d| ?[Nlfi]))", to=scaled(10))
)
mutation("a value ten times too small: torque", helps=True)(
    edit("torque", pattern=r"(?<= )\d+(?:\.\d+)?(?=(?: \d| ?[Nlfi]))", to=scaled(0.1))
)
mutation("a value with another sign", helps=False)(
    edit(
        "torque",
        "reading",
        "hole",
        "cable",
        pattern=r"(?<= )(?=\d+(?:\.\d+)? ?(?:Nm|ft|in|mm|V|ohm|ms|A|m|%)\b)",
        to="-",
    )
)
mutation("insulation a thousandth, MΩ read as kΩ", helps=True)(
    edit("reading", pattern=r"(?<=[\d ])(MΩ|Mohm)(?= at)", to=lambda match: "kΩ")
)
mutation("a resistance a thousand times as much, ohm read as kohm")(
    edit("reading", pattern=r"(?<=\d )ohm\b", to="kohm")
)
mutation("a torque in another unit", helps=True)(edit("torque", pattern=r"(?<=[\d ])Nm\b", to="in-lb"))
mutation("a unit of another kind")(
    edit("torque", "reading", pattern=r"(?<=[\d ])(Nm|in-lb|ft-lb|MΩ|Mohm|ohm|ms)(?= |$)", to="V")
)
mutation("a unit of energy for a torque")(edit("torque", pattern=r"(?<=[\d ])(Nm|in-lb|ft-lb)\b", to="Wh"))
mutation("a torque a third too low", helps=True)(
    edit("torque", pattern=r"(?<= )\d+(?:\.\d+)?(?=(?: \d| ?[Nlfi]))", to=scaled(0.66))
)
mutation("a torque a third too high", helps=True)(
    edit("torque", pattern=r"(?<= )(?<!held )\d+(?:\.\d+)?(?=(?: \d| ?[Nlfi]))", to=scaled(1.34))
)
mutation("a hole too shallow")(edit("hole", pattern=r"(?<=x )\d+(?:\.\d+)?(?= mm| in)", to=scaled(0.5)))
mutation("a hole too wide")(edit("hole", pattern=r"(?<= )\d+(?:\.\d+)?(?= mm x)", to=scaled(1.5)))
mutation(
    "a voltage of direct current written as alternating",
    silent="where the sheet says neither ac nor dc, either serves",
)(edit("reading", pattern=r"(?<=\d )(?<!at 500 )(V|Vdc)(?= |$)", to="Vac"))
mutation("soc above the whole")(edit("reading", pattern=r"(?<= )\d+(?= %)", to=scaled(11)))
mutation("an answer turned to not ok")(edit("look", pattern=r" ok$", to=" not ok"))
mutation("two values with a slash between")(
    edit("torque", "reading", pattern=r"(?<= )(\d+)(?=(?:\.\d+)? ?(?:MΩ|Mohm|ms|ohm|Nm))", to=r"\1/\1")
)
mutation("wait cut short")(edit("did", pattern=r"(?<=waited )\d+", to=scaled(0.1)))
mutation("wait before the dead test cut short")(edit("dead", pattern=r"(?<=after )\d+", to=scaled(0.1)))

# ---- conditions ----------------------------------------------------------------------------------------
mutation("at half the test voltage")(edit("reading", pattern=r"(?<=at )500(?= V)", to="250"))
mutation("at twice the test voltage")(edit("reading", pattern=r"(?<=at )500(?= V)", to="1000"))
mutation("the test voltage left out")(edit("reading", pattern=r" at 500 V", to=""))
mutation("a condition left out")(edit("reading", pattern=r" at (5 x )?30 mA", to=""))
mutation("another condition")(edit("reading", pattern=r"(?<=at )(5 x )?30 mA", to="100 mA"))
mutation("two conditions at once")(edit("reading", pattern=r"(?<=at )(?=30 mA)", to="5 x 30 mA, "))


@mutation("a newer value that fails, at another test voltage")
def _newer(job: Job, rng: Random) -> Job | None:
    line = pick(rng, [line for line in standing(job, "reading") if "at 500 V" in line.rest])
    if line is None:
        return None
    what = " ".join(line.rest.split()[:2])
    volts = rng.choice([" at 250 V", " at 1000 V", ""])
    return insert(job, line.at + 1, f"{line.when}reading {what} 0.02 MΩ{volts}")


# ---- whose tool ----------------------------------------------------------------------------------------
mutation("a tool that no kit has")(edit("torque", "reading", "dead", pattern=r"(?<=with )\w+", to="ZZ9"))


@mutation("a tool of another kind")
def _other_tool(job: Job, rng: Random) -> Job | None:
    kit = job.files[job.kit].decode()
    thermometer = re.search(r"^tool +(\w+) +temperature", kit, re.MULTILINE)
    line = pick(rng, [line for line in standing(job, "torque") if " by " not in line.rest])
    if thermometer is None or line is None:
        return None
    rest = re.sub(r" with \w+", "", line.rest)
    return replace_line(job, line, f"{rest} with {thermometer[1]}")


@mutation("nobody says which tools are in use", silent=_SINCE)
def _no_use(job: Job, rng: Random) -> Job | None:
    if entries(job, "removed"):
        return None  # what its other visits measured is of no account any more
    line = pick(rng, [line for line in entries(job, "use") if len(line.rest.split()) > 1])
    return None if line is None else drop(job, line.at)


@mutation("a tool in use misspelt")
def _use_misspelt(job: Job, rng: Random) -> Job | None:
    line = pick(rng, entries(job, "use"))
    if line is None:
        return None
    names = line.rest.replace(",", " ").split()
    names[rng.randrange(len(names))] += "7"
    return replace_line(job, line, " " + ", ".join(names))


mutation("shown by the equipment, which a tool should have measured")(
    edit("reading", pattern=r"(?<=MΩ|hm)( at 500 V)?$", to=r"\1 from controller")
)
mutation("a dead test from memory")(edit("dead", pattern=r" with \w+ proved.*$", to=" from memory"))
mutation("a dead test that was not proved")(edit("dead", pattern=r" proved.*$", to=""))
mutation("a dead test proved before only")(edit("dead", pattern=r"before, after", to="before"))


@mutation("a dead test proved on a tool that proves nothing")
def _proved_on(job: Job, rng: Random) -> Job | None:
    kit = job.files[job.kit].decode()
    wrench = re.search(r"^tool +(\w+) +torque", kit, re.MULTILINE)
    assert wrench is not None
    return edit("dead", pattern=r"(?<=proved on )\w+", to=wrench[1])(job, rng)


@mutation("a dead test by a multimeter")
def _dead_by(job: Job, rng: Random) -> Job | None:
    kit = job.files[job.kit].decode()
    meter = re.search(r"^tool +(\w+) +voltage ", kit, re.MULTILINE)
    if meter is None:
        return None
    return edit("dead", pattern=r" with \w+ proved.*$", to=f" with {meter[1]}")(job, rng)


mutation("dead, and a voltage is there")(edit("dead", pattern=r"(?<= )\d+(?= V)", to="230"))
mutation("dead, and a voltage of the other sign is there")(
    edit("dead", pattern=r"(?<= )\d+(?= V)", to="-230")
)


def _kit(pattern: str, to: str | Callable[[re.Match[str]], str]) -> Mutate:
    def mutate(job: Job, rng: Random) -> Job | None:
        text = job.files[job.kit].decode()
        if entries(job, "removed"):
            return None  # what its other visits measured is of no account any more
        used = {word for line in entries(job) for word in re.findall(r"\w+", line.rest)}
        matches = [
            match
            for match in re.finditer(pattern, text, re.MULTILINE)
            if match["tool"] in used and not _is_old(text, match, job)
        ]
        if not matches:
            return None
        match = rng.choice(matches)
        new = match.expand(to) if isinstance(to, str) else to(match)
        data = (text[: match.start()] + new + text[match.end() :]).encode()
        return job._replace(files=job.files | {job.kit: data})

    return mutate


def _days_of_evidence(job: Job) -> set[str]:
    """The days on which something was done that still proves what a sheet asks."""
    proving = {at for at, _, _ in job.evidence}
    found, day = set(), ""
    for at, line in enumerate(job.text(job.log)):
        if match := re.match(r"day +(\S+)", line):
            day = match[1]
        if at in proving:
            found.add(day)
    return found


def _is_old(kit: str, match: re.Match[str], job: Job) -> bool:
    """Whether a calibration is one that no day of the job falls under."""
    if not match[0].startswith("calibrated"):
        return False
    days = _days_of_evidence(job)
    day = re.search(r"\d{4}-\d\d-\d\d", match[0])
    others = re.findall(rf"^calibrated {match['tool']} +(\S+)", kit, re.MULTILINE)
    assert day is not None
    used = {max((other for other in others if other <= day_of_use), default="") for day_of_use in days}
    return day[0] not in used


mutation("a calibration lost", silent=_SINCE)(_kit(r"^calibrated +(?P<tool>\w+) .*\n", ""))
mutation("a calibration that had run out", silent=_SINCE)(
    _kit(r"^(?P<head>calibrated +(?P<tool>\w+) +)\S+( +due) \S+", r"\g<head>2020-01-01\g<3> 2021-01-01")
)
mutation("a tool taken out of the kit")(_kit(r"^tool +(?P<tool>\w+) .*\n", ""))
mutation("a range that ends below the values")(
    _kit(r"^(?P<head>tool +(?P<tool>\w+) +torque-\w+ +)[\d.]+\.\.[\d.]+", r"\g<head>0.1..0.2")
)
mutation("an accuracy that cannot be read")(
    _kit(r"^(?P<head>tool +(?P<tool>\w+) .*?)\+-\S+ %", r"\g<head>+-oops %")
)
mutation(
    "an accuracy so bad that nothing is proved", silent="under `rule simple` the probability decides nothing"
)(_kit(r"^(?P<head>tool +(?P<tool>\w+) +torque-\w+ .*?)\+-\S+ %", r"\g<head>+-60 %"))
mutation("found far outside its limits at the calibration in force", silent=_SINCE)(
    _kit(r"^(?P<head>calibrated +(?P<tool>\w+) +\S+ +due \S+ +cert \S+)[^\n]*", r"\g<head>  found +30 %")
)
mutation("a line of the kit that cannot be read")(_kit(r"^tool(?= +(?P<tool>\w+) )", "tolo"))


@mutation("a kit that is not there")
def _no_kit(job: Job, rng: Random) -> Job | None:
    return job.without(job.kit)


@mutation("a kit of another name")
def _other_kit(job: Job, rng: Random) -> Job | None:
    return edit("kit", pattern=r"\S+", to="no-such-van", final=False)(job, rng)


# ---- names ---------------------------------------------------------------------------------------------
def _misspelt(kind: str, which: int) -> Mutate:
    def mutate(job: Job, rng: Random) -> Job | None:
        line = pick(rng, standing(job, kind))
        if line is None:
            return None
        words = line.rest.split(" ")
        spots = [at for at, word in enumerate(words) if word]
        if which >= len(spots):
            return None
        at = spots[which]
        bare, comma = words[at].rstrip(","), words[at][len(words[at].rstrip(",")) :]
        words[at] = slip(bare, rng) + comma
        return replace_line(job, line, " ".join(words))

    return mutate


for _kind, _which in (
    ("torque", 0), ("hole", 0), ("reading", 0), ("reading", 1), ("look", 0), ("did", 0),
    ("set", 0), ("registered", 0), ("cable", 0), ("device", 0), ("dead", 0),
):  # fmt: skip
    mutation(f"misspelt: {_kind} {'what it is about' if _which == 0 else 'the place'}")(
        _misspelt(_kind, _which)
    )


@mutation("a word that begins a line misspelt")
def _kind_misspelt(job: Job, rng: Random) -> Job | None:
    line = pick(rng, standing(job, *FINAL))
    if line is None:
        return None
    lines = job.text(job.log)
    lines[line.at] = f"{line.when}{line.kind}q{line.rest}{line.tail}"
    return job.with_text(job.log, lines)


mutation("a step said to be still to come")(edit("did", pattern=r"^( +\S+).*$", to=r"\1 tomorrow"))
mutation("a step that failed")(edit("did", pattern=r"^( +\S+).*$", to=r"\1 failed"))


# ---- parts ---------------------------------------------------------------------------------------------
@mutation("a serial read off wrongly")
def _serial(job: Job, rng: Random) -> Job | None:
    return edit("serial", pattern=r"(?<= )[A-Z]{2}[-\w]*\d\b", to=lambda match: match[0][:-1] + "O")(job, rng)


@mutation("one serial at two places")
def _serial_twice(job: Job, rng: Random) -> Job | None:
    return edit("serial", pattern=r"([A-Z]{2}[-\w]*\d) +([A-Z]{2}[-\w]*\d)\b", to=r"\1 \1", final=False)(
        job, rng
    )


@mutation("swapped, and nothing done again")
def _swapped(job: Job, rng: Random) -> Job | None:
    signs = entries(job, "sign")
    serial = pick(rng, [line for line in entries(job, "serial") if "___" not in line.rest])
    if serial is None or not signs or " removed" in signs[-1].rest:
        return None
    place, old = serial.rest.split()[0].partition("..")[0], serial.rest.split()[1].rstrip(",")
    return insert(
        job, signs[0].at, f"{signs[0].when}swap {place} {old} -> {old[:-1]}{(int(old[-1]) + 5) % 10}"
    )


@mutation("loosened, and not tightened again")
def _loosed(job: Job, rng: Random) -> Job | None:
    line = pick(rng, standing(job, "torque"))
    signs = [sign for sign in entries(job, "sign") if line is not None and sign.at > line.at]
    if line is None or not signs:
        return None
    return insert(job, signs[0].at, f"{signs[0].when}loosed {line.rest.split()[0]}")


@mutation("a part removed, and none put back")
def _removed(job: Job, rng: Random) -> Job | None:
    serial = pick(rng, [line for line in entries(job, "serial") if "___" not in line.rest])
    signs = entries(job, "sign")
    if serial is None or not signs or " removed" in signs[-1].rest:
        return None
    place, old = serial.rest.split()[0].partition("..")[0], serial.rest.split()[1]
    return insert(job, signs[0].at, f"{signs[0].when}removed {place} {old} to shop")


# ---- order, states, time -------------------------------------------------------------------------------
@mutation("done before what comes first")
def _before(job: Job, rng: Random) -> Job | None:
    steps = [line for line in standing(job, "did") if line.rest.split()[:1] == ["breaker-on"]]
    torques = standing(job, "torque")
    if not steps or not torques:
        return None
    step = steps[0]
    lines = job.text(job.log)
    moved = lines.pop(step.at)
    first = next(line for line in entries(job) if line.when)
    lines.insert(first.at + 1, moved.replace(step.when, first.when))
    return job.with_text(job.log, lines)


@mutation("switched on in the middle of the work")
def _on(job: Job, rng: Random) -> Job | None:
    sheets = "\n".join(data.decode() for name, data in job.files.items() if name.endswith(".sheet"))
    asked = re.findall(r"^joint +(\w+)-.*while breaker-off", sheets, re.MULTILINE)
    lines = [line for line in standing(job, "torque") if line.rest.split()[0].partition("-")[0] in asked]
    line = pick(rng, lines)
    return None if line is None else insert(job, line.at, f"{line.when}did breaker-on")


@mutation("the lock never put on")
def _no_lock(job: Job, rng: Random) -> Job | None:
    sheets = "\n".join(data.decode() for name, data in job.files.items() if name.endswith(".sheet"))
    lines = entries(job, "lock")
    if not lines or not re.search(r"while[^\n]*locked", sheets):
        return None
    text = [line for at, line in enumerate(job.text(job.log)) if at not in {line.at for line in lines}]
    return job.with_text(job.log, text)


@mutation("a live test before the dead one")
def _live_first(job: Job, rng: Random) -> Job | None:
    tests = [
        line for line in standing(job, "reading") if line.rest.startswith((" voltage dc", "  voltage dc"))
    ]
    first = next((line for line in entries(job) if line.when and line.kind != "use"), None)
    if not tests or first is None:
        return None
    lines = job.text(job.log)
    moved = lines.pop(tests[0].at)
    lines.insert(first.at, moved.replace(tests[0].when, first.when))
    return job.with_text(job.log, lines)


@mutation("a day that is still to come")
def _future(job: Job, rng: Random) -> Job | None:
    return edit("day", pattern=r"\d{4}(?=-)", to="2031", final=False)(job, rng)


@mutation("a day left out")
def _no_day(job: Job, rng: Random) -> Job | None:
    line = entries(job, "day")
    return drop(job, line[0].at) if len(line) == 1 else None


@mutation("times that run backwards")
def _backwards(job: Job, rng: Random) -> Job | None:
    everything = entries(job)
    lines = [
        line
        for above, line in pairwise(everything)
        if line.when and above.when and " pm" not in line.when  # the first of a day may stand at any time
    ]
    line = pick(rng, lines[1:])
    if line is None:
        return None
    text = job.text(job.log)
    text[line.at] = "03:00 " + text[line.at][len(line.when) :]
    return job.with_text(job.log, text)


# ---- devices and conductors ----------------------------------------------------------------------------
mutation("a device twice as large")(edit("device", pattern=r"(?<= )\d+(?= A)", to=scaled(4)))
mutation("a device of another curve")(edit("device", pattern=r"(?<= )B(?= \d)", to="D"))


@mutation("a device not logged")
def _no_device(job: Job, rng: Random) -> Job | None:
    lines = [line for line in entries(job, "device") if re.search(r" [BCD] \d", line.rest)]
    line = pick(rng, lines)
    return None if line is None else drop(job, line.at)


mutation("a cable too thin")(edit("cable", pattern=r"(?<= )\d+(?:\.\d+)? mm2", to="0.75 mm2"))
mutation("a cable far too long")(edit("cable", pattern=r"(?<= )\d+(?:\.\d+)?(?= m |  m| ft)", to=scaled(60)))
mutation("a fuse above the capacity")(edit("cable", pattern=r"(?<=fuse )\d+", to=scaled(10)))
mutation("a current that flows the other way")(edit("cable", pattern=r"(?<= )(?=\d+(?:\.\d+)? A at)", to="-"))
mutation("a cable of no length and no current")(
    edit("cable", pattern=r"\d+(?:\.\d+)? (m|ft)( +)\d+(?:\.\d+)? A at", to=r"0 \1\g<2>0 A at")
)
mutation("a setting below what is asked")(edit("set", pattern=r"(?<= )\d+\.\d+$", to="0.1"))


# ---- people, defects, papers ---------------------------------------------------------------------------
@mutation("a defect left open")
def _defect(job: Job, rng: Random) -> Job | None:
    signs = entries(job, "sign")
    if not signs:
        return None
    grade = rng.choice(["minor", "major", "danger"])
    return insert(job, signs[0].at, f"{signs[0].when}defect D99 {grade} a lid does not close")


@mutation("a clearing lost")
def _not_cleared(job: Job, rng: Random) -> Job | None:
    line = pick(rng, entries(job, "cleared"))
    return None if line is None else drop(job, line.at)


@mutation("left half way")
def _away(job: Job, rng: Random) -> Job | None:
    lines = entries(job)
    return insert(job, lines[-1].at + 1, f"{lines[-1].when}away caps on")


@mutation("taken out by somebody who may not")
def _not_applicable(job: Job, rng: Random) -> Job | None:
    line = pick(rng, standing(job, "torque"))
    if line is None:
        return None
    place = line.rest.split()[0]
    return insert(drop(job, line.at), line.at, f"{line.when}n/a {place} by nobody-here -- not needed")


@mutation("one reading taken out, and its sisters with it")
def _sisters(job: Job, rng: Random) -> Job | None:
    lines = [line for line in standing(job, "reading") if line.rest.split()[0] == "insulation"]
    line = pick(rng, lines)
    lead = next((entry.rest.split()[0] for entry in entries(job, "crew") if " lead" in entry.rest), "")
    if line is None or len(lines) < 2:
        return None
    other = next(each for each in lines if each is not line)
    new = insert(
        job, other.at, f"{other.when}n/a insulation {line.rest.split()[1]} by {lead} -- not wired yet"
    )
    lost = next(
        entry for entry in entries(new, "reading") if entry.rest == other.rest and entry.at > other.at
    )
    return drop(new, lost.at)


mutation("signed for a purpose that is none")(
    edit("sign", pattern=r"(?<= )installed", to="instaled", final=False)
)
mutation("signed by somebody who is not in the crew")(edit("sign", pattern=r"^ +\w+", to=" zed", final=False))


@mutation("nobody is the lead")
def _no_lead(job: Job, rng: Random) -> Job | None:
    return edit("crew", pattern=r" lead\b", to=" apprentice", final=False)(job, rng)


@mutation("edited above a signature with a digest")
def _edited(job: Job, rng: Random) -> Job | None:
    signs = [line for line in entries(job, "sign") if "digest" in line.rest]
    lines = [line for line in entries(job) if signs and line.at < signs[-1].at and line.kind in FINAL]
    line = pick(rng, lines)
    if line is None:
        return None
    return replace_line(job, line, line.rest + " -- as it should be")


@mutation("the signer's name changed behind a digest")
def _signer(job: Job, rng: Random) -> Job | None:
    signs = [line for line in entries(job, "sign") if "digest" in line.rest]
    if not signs:
        return None
    return replace_line(job, signs[-1], re.sub(r"^ +\w+", " someone", signs[-1].rest))


@mutation("a blank serial")
def _blank_serial(job: Job, rng: Random) -> Job | None:
    return edit("serial", pattern=r"(?<= )[A-Z]{2}[-\w]*\d\b", to="___")(job, rng)


# ---- sheets --------------------------------------------------------------------------------------------
def _sheet(pattern: str, to: str) -> Mutate:
    def mutate(job: Job, rng: Random) -> Job | None:
        lines = job.text(job.sheet)
        having = [at for at in sorted(job.asked) if re.search(pattern, lines[at])]
        if not having:
            return None
        at = rng.choice(having)
        lines[at] = re.sub(pattern, to, lines[at], count=1)
        return job.with_text(job.sheet, lines)

    return mutate


mutation("a line of the sheet that cannot be read")(_sheet(r"^(joint|reading|hole|look|step)(?= )", r"\1x"))
mutation("a limit of the sheet that cannot be read")(_sheet(r"(?<=\+-)\d+ %", "oops"))
mutation("a word without a meaning in the sheet", helps=True)(_sheet(r"^(joint +\S+).*$", r"\1 oops"))
mutation("a limit that the value does not meet")(
    _sheet(r"^(joint +\S+ .*?)\d+(?:\.\d+)? (Nm|in-lb|ft-lb)", r"\g<1>0.3 \2")
)
mutation("a place more asked")(_sheet(r"^(joint +\w+-1\.\.)\d+", r"\g<1>9"))


@mutation("a sheet based on one that is not there")
def _based(job: Job, rng: Random) -> Job | None:
    lines = job.text(job.sheet)
    head = next(at for at, line in enumerate(lines) if line.startswith("sheet "))
    return insert(job, head + 1, "based on no-such-sheet", file=job.sheet)


mutation("a limit behind a comment sign")(
    _sheet(r"^(joint +\S+(?: M\d+)?(?: class \S+)?) +(?=[\d.]+ \S+ \+-)", r"\1 # ")
)


@mutation("a sheet that is not there")
def _no_sheet(job: Job, rng: Random) -> Job | None:
    return job.without(job.sheet)


@mutation("a sheet of another revision")
def _revision(job: Job, rng: Random) -> Job | None:
    return edit("sheet", pattern=r"(?<=revision )\S+", to="Q", final=False)(job, rng)


# ---- trials --------------------------------------------------------------------------------------------
def _trial(change: Callable[[list[str], Random], list[str]]) -> Mutate:
    def mutate(job: Job, rng: Random) -> Job | None:
        if not job.trial:
            return None
        return job.with_text(job.trial, change(job.text(job.trial), rng))

    return mutate


def _rows(lines: list[str]) -> range:
    """The rows in the middle of a trial."""
    return range(len(lines) // 3, 2 * len(lines) // 3)


@mutation("the trial's file lost")
def _no_trial(job: Job, rng: Random) -> Job | None:
    return job.without(job.trial) if job.trial else None


mutation("a trial that ends half way")(_trial(lambda lines, rng: [*lines[: len(lines) // 2], ""]))
mutation("a trial with a hole in it")(
    _trial(lambda lines, rng: lines[: len(lines) // 3] + lines[2 * len(lines) // 3 :])
)


@mutation("a trial without its column of current")
def _no_current(job: Job, rng: Random) -> Job | None:
    if not job.trial:
        return None
    return job.with_text(job.trial, [line.replace("current [A]", "remark") for line in job.text(job.trial)])


@mutation("a trial at a third of the current")
def _weak(job: Job, rng: Random) -> Job | None:
    if not job.trial:
        return None
    lines = job.text(job.trial)
    head = next(at for at, line in enumerate(lines) if line.startswith("time"))
    column = next(at for at, name in enumerate(lines[head].split(",")) if "current" in name)
    for at in range(head + 1, len(lines)):
        cells = lines[at].split(",")
        if len(cells) > column:
            cells[column] = f"{float(cells[column]) / 3:.2f}"
            lines[at] = ",".join(cells)
    return job.with_text(job.trial, lines)


@mutation("a trial with a cell that got hot")
def _hot(job: Job, rng: Random) -> Job | None:
    if not job.trial:
        return None
    lines = job.text(job.trial)
    head = next(at for at, line in enumerate(lines) if line.startswith("time"))
    column = next(at for at, name in enumerate(lines[head].split(",")) if "temperature" in name)
    for at in _rows(lines):
        cells = lines[at].split(",")
        cells[column] = "71.0"
        lines[at] = ",".join(cells)
    return job.with_text(job.trial, lines)


@mutation("a trial of another month")
def _old_trial(job: Job, rng: Random) -> Job | None:
    if not job.trial:
        return None
    return job.with_text(
        job.trial, [re.sub(r"^(\d{4})-\d\d-", r"\1-01-", line) for line in job.text(job.trial)]
    )


@mutation("other units in a trial's head")
def _head(job: Job, rng: Random) -> Job | None:
    if not job.trial:
        return None
    return job.with_text(job.trial, [line.replace("[A]", "[mA]") for line in job.text(job.trial)])


def every() -> Iterator[Mutation]:
    """Every class, in the order in which they stand here."""
    return iter(MUTATIONS.values())
