"""Rewritings of a job that say the same: every verdict must stay as it is."""

import re
import unicodedata
from collections.abc import Callable

from sitelog.files.tidying import tidied
from tests.mutants.jobs import Job
from tests.mutants.mutations import entries, insert

Rewrite = Callable[[Job], Job]
RELATIONS: dict[str, Rewrite] = {}


def relation(name: str) -> Callable[[Rewrite], Rewrite]:
    """Register a rewriting."""

    def register(rewrite: Rewrite) -> Rewrite:
        RELATIONS[name] = rewrite
        return rewrite

    return register


def _is_text(file: str) -> bool:
    return file.endswith((".site", ".sheet", ".kit"))


def _signed(job: Job) -> bool:
    """Whether a digest holds the log's text: what it covers is not free to be rewritten."""
    return "digest-" in job.files[job.log].decode()


def _lines(change: Callable[[str], str], *endings: str, words: bool = True) -> Rewrite:
    """A rewriting of each line of the files with some endings; of a signed log only what keeps its words."""

    def rewrite(job: Job) -> Job:
        for file in job.files:
            if file.endswith(endings or (".site", ".sheet", ".kit")) and not (
                words and _signed(job) and _is_text(file)
            ):
                job = job.with_text(file, [change(line) for line in job.text(file)])
        return job

    return rewrite


def _bytes(change: Callable[[bytes], bytes]) -> Rewrite:
    def rewrite(job: Job) -> Job:
        files = {file: change(data) if _is_text(file) else data for file, data in job.files.items()}
        return job._replace(files=files)

    return rewrite


def _outside_quotes(line: str, change: Callable[[str], str]) -> str:
    """A line with everything changed but for its remark and what stands in quotes."""
    head, sign, remark = line.partition(" -- ")
    parts = head.split('"')
    parts[::2] = [change(part) for part in parts[::2]]
    return '"'.join(parts) + sign + remark


def _text(change: Callable[[str], str]) -> Rewrite:
    """A rewriting of what stands outside of quotes and remarks."""
    return _lines(lambda line: _outside_quotes(line, change))


relation("line ends of another system")(_bytes(lambda data: data.replace(b"\n", b"\r\n")))
relation("a byte order mark")(_bytes(lambda data: b"\xef\xbb\xbf" + data))
relation("no line end at the end")(_bytes(lambda data: data.rstrip(b"\n")))
relation("blank lines between")(_bytes(lambda data: data.replace(b"\n", b"\n\n")))
relation("blanks at the end of lines")(_bytes(lambda data: data.replace(b"\n", b"  \t\n")))
relation("tabs for blanks")(
    _lines(lambda line: _outside_quotes(line, lambda text: re.sub(r" {2,}", "\t", text)))
)
relation("one blank for many")(
    _lines(lambda line: _outside_quotes(line, lambda text: re.sub(r" {2,}", " ", text)))
)
relation(
    "a comment on every line",
)(_lines(lambda line: f"{line}  # seen" if line and "#" not in line and "--" not in line else line))
relation("ASCII for signs")(
    _lines(
        lambda line: _outside_quotes(
            line, lambda text: text.replace("MΩ", "Mohm").replace("kΩ", "kohm").replace("Ω", "ohm")
        )
    )
)
relation("signs for ASCII")(
    _lines(
        lambda line: _outside_quotes(
            line,
            lambda text: re.sub(r"(?<=\d) x (?=\d)", " × ", text)
            .replace("Mohm", "MΩ").replace("+-", "±").replace(">=", "≥").replace("<=", "≤"),
        )
    )
)  # fmt: skip
relation("other spellings of units")(
    _lines(
        lambda line: _outside_quotes(
            line,
            lambda text: re.sub(r"(?<=[\d ])Nm\b", "N·m", re.sub(r"(?<=[\d ])in-lb\b", "lbf.in", text)),
        )
    )
)
relation("units joined to their numbers")(
    _lines(
        lambda line: _outside_quotes(
            line, lambda text: re.sub(r"(?<=\d) (Nm|mm|ohm|ms|MΩ|Mohm|degC)(?=[ ,]|$)", r"\1", text)
        )
    )
)
relation("words that begin a line in capitals")(
    _lines(
        lambda line: re.sub(
            r"^((?:\d{1,2}:\d\d(?: [ap]m)? +)?)([a-z]+)(?= )", lambda m: m[1] + m[2].upper(), line
        )
    )
)
relation("places in capitals")(
    _lines(
        lambda line: re.sub(
            r"^(\S+ +(?:[ap]m +)?(?:torque|hole) +)([\w-]+)", lambda m: m[1] + m[2].upper(), line
        ),
        ".site",
    )
)
relation("decomposed letters")(_bytes(lambda data: unicodedata.normalize("NFD", data.decode()).encode()))


@relation("times with am and pm")
def _am_pm(job: Job) -> Job:
    if _signed(job):
        return job

    def change(line: str) -> str:
        match = re.match(r"(\d{2}):(\d\d)(?= )(?! [ap]m)", line)
        if match is None:
            return line
        hour = int(match[1])
        return f"{(hour + 11) % 12 + 1}:{match[2]} {'am' if hour < 12 else 'pm'}{line[match.end() :]}"

    return job.with_text(job.log, [change(line) for line in job.text(job.log)])


@relation("dates in front of times")
def _dated(job: Job) -> Job:
    if _signed(job):
        return job
    lines, day = [], ""
    for line in job.text(job.log):
        if match := re.match(r"day +(\S+)", line):
            day = match[1]
        lines.append(f"{day} {line}" if day and re.match(r"\d{1,2}:\d\d ", line) else line)
    return job.with_text(job.log, lines)


@relation("ranges spelt out")
def _spelt_out(job: Job) -> Job:
    def places(match: re.Match[str]) -> str:
        start, end = match[2], match[3]
        if start.isdigit():
            return ", ".join(f"{match[1]}{number}" for number in range(int(start), int(end) + 1))
        return ", ".join(f"{match[1]}{chr(code)}" for code in range(ord(start), ord(end) + 1))

    def change(line: str) -> str:
        return _outside_quotes(line, lambda text: re.sub(r"\b([a-z]+-)(\w)\.\.(\w)\b", places, text))

    if _signed(job):
        return job
    return job.with_text(job.log, [change(line) for line in job.text(job.log)])


@relation("an entry for each place")
def _one_each(job: Job) -> Job:
    if _signed(job):
        return job
    lines = job.text(job.log)
    for line in reversed(entries(job, "look")):
        match = re.fullmatch(r" +([\w-]+(?:, [\w-]+)+) (ok)", line.rest)
        if match is not None:
            lines[line.at : line.at + 1] = [line.text(f" {what} {match[2]}") for what in match[1].split(", ")]
    return job.with_text(job.log, lines)


@relation("the lead named on every entry")
def _named(job: Job) -> Job:
    lead = next((line.rest.split()[0] for line in entries(job, "crew") if " lead" in line.rest), "")
    if _signed(job) or not lead:
        return job
    lines = job.text(job.log)
    for line in entries(job, "torque", "hole", "look"):
        if " by " not in line.rest and line.when:
            lines[line.at] = line.text(f"{line.rest} by {lead}")
    return job.with_text(job.log, lines)


@relation("a note more")
def _note(job: Job) -> Job:
    lines = [] if _signed(job) else entries(job, "torque", "look")
    return insert(job, lines[-1].at, f"{lines[-1].when}note   said once more") if lines else job


@relation("a kit in two files")
def _two_kits(job: Job) -> Job:
    lines = job.text(job.kit)
    tools = [line.split()[1] for line in lines if line.startswith("tool ")]
    if _signed(job) or len(tools) < 4:
        return job
    second = set(tools[:2])
    name = next(line.split()[1] for line in lines if line.startswith("kit "))
    mine = [line for line in lines if line.split()[1:2] and line.split()[1] in second]
    rest = [line for line in lines if line not in mine]
    job = job.with_text(job.kit, rest)
    job = job._replace(files=job.files | {"second.kit": "\n".join(["kit second", *mine, ""]).encode()})
    log = job.text(job.log)
    at = next(at for at, line in enumerate(log) if re.match(rf"kit +{name}\b", line))
    return insert(job, at + 1, "kit second")


@relation("files in another order")
def _order(job: Job) -> Job:
    renamed = {}
    for file, data in job.files.items():
        renamed[f"zz-{file}" if file.endswith((".kit", ".sheet")) else file] = data
    return job._replace(files=renamed, kit=f"zz-{job.kit}", sheet=f"zz-{job.sheet}")


@relation("files with .txt behind")
def _txt(job: Job) -> Job:
    renamed = {f"{file}.txt" if _is_text(file) else file: data for file, data in job.files.items()}
    return job._replace(files=renamed, log=f"{job.log}.txt", kit=f"{job.kit}.txt", sheet=f"{job.sheet}.txt")


@relation("an unknown sheet and kit beside")
def _beside(job: Job) -> Job:
    more = {
        "other.sheet": b"sheet other-9\nlook other ok\n",
        "other.kit": b"kit other-van\ntool QQ1 voltage 0..9 V\n",
    }
    return job._replace(files=job.files | more)


@relation("lined up by tidy")
def _tidied(job: Job) -> Job:
    text = job.files[job.log].decode()
    return job._replace(files=job.files | {job.log: tidied(text, job.log).encode()})
