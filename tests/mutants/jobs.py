"""The jobs that are mutated: each a folder of files by name, clean as it stands."""

import re
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "example_logs"
CLEAN_EXAMPLES = ("hopfield-7", "maple-118", "pump-house-2", "station-40")
FAULTY_EXAMPLES = ("chapel-row-5", "orchard-22", "tannery-3", "weir-house")


class Job(NamedTuple):
    """The files of one job by name. `log`, `kit` and `sheet` name those that a mutation changes.

    `evidence` is what in the log proves something that a sheet asks: the line and the stretch of it, from 0;
    `asked` are the lines of the sheet that ask it.
    """

    name: str
    files: dict[str, bytes]
    log: str
    kit: str
    sheet: str
    trial: str = ""
    evidence: frozenset[tuple[int, int, int]] = frozenset()
    asked: frozenset[int] = frozenset()

    def text(self, file: str) -> list[str]:
        """The lines of a file, without their ends."""
        return self.files[file].decode("utf-8").split("\n")

    def with_text(self, file: str, lines: list[str]) -> "Job":
        """The job with other lines in one file."""
        return self._replace(files=self.files | {file: "\n".join(lines).encode("utf-8", "surrogateescape")})

    def without(self, file: str) -> "Job":
        """The job without one file."""
        return self._replace(files={name: data for name, data in self.files.items() if name != file})


def jobs() -> list[Job]:
    """Every clean job."""
    return [*(_own(folder) for folder in sorted((HERE / "jobs").iterdir())), *map(_example, CLEAN_EXAMPLES)]


def faulty_jobs() -> list[Job]:
    """Every job that has something wrong as it stands: what is made worse in it may not improve a verdict."""
    return [_example(name) for name in FAULTY_EXAMPLES]


def _own(folder: Path) -> Job:
    files = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
    return _job(folder.name, files)


def _example(name: str) -> Job:
    text = (EXAMPLES / "sites" / f"{name}.site").read_text(encoding="utf-8")
    named = re.findall(r"^(?:sheet|kit) +(\S+)", text, re.MULTILINE)
    wanted = [path for path in sorted(EXAMPLES.iterdir()) if path.suffix in (".sheet", ".kit")]
    bases = [name for path in wanted if path.stem in named for name in _bases(path)]
    wanted = [path for path in wanted if path.stem in (*named, *bases)]
    wanted += [
        path
        for path in sorted((EXAMPLES / "sites").iterdir())
        if path.name in text or path.name == f"{name}.site"
    ]
    return _job(name, {path.name: path.read_bytes() for path in wanted})


def _bases(path: Path) -> list[str]:
    return re.findall(r"^based on +(\S+)", path.read_text(encoding="utf-8"), re.MULTILINE)


def _job(name: str, files: dict[str, bytes]) -> Job:
    log = f"{name}.site"
    lines = files[log].decode("utf-8").split("\n")
    named = {
        word: [line.split()[1] for line in lines if line.split()[:1] == [word]] for word in ("sheet", "kit")
    }
    trial = next((file for file in files if file.endswith(".csv")), "")
    return Job(name, files, log, f"{named['kit'][0]}.kit", f"{named['sheet'][0]}.sheet", trial)
