"""The sheets and kits that a log can name: those among the paths, then those beside it and above."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from datetime import date

from sitelog.base.memory import remembered
from sitelog.files.records import Kit, Log, Sheet, assemble, read_kit, read_sheet
from sitelog.files.source import is_repository, named_in, read, role_of
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.judging.tools import Toolbox

Need = tuple[str, str]
"""What a judgement rests on: `sheet` or `kit` and a name, `folder`, `repository` or `file` and a path."""
ANY_SHEET: Need = ("sheets", "")
ANY_KIT: Need = ("kits", "")
"""That it rests on which of them there are at all."""

Origin = tuple[list[str], list[str], date | None]
"""What a reach is made from: the files of the sheets and kits among the paths, and the last day."""


class Reach:
    """The sheets and kits in reach of logs, and those in reach of one site's logs.

    `sheets` and `kits` are those among the paths; two of one name are reported in `findings`. `needs`
    collects what was looked up, so that it is known later what an answer rests on. With `until`, logs and
    kits are as they stood at the end of that day.
    """

    def __init__(
        self,
        sheets: Sequence[Sheet],
        kits: Sequence[Kit],
        findings: list[Finding],
        until: date | None = None,
    ) -> None:
        self.findings = findings
        self.needs: set[Need] = set()
        self._until = until
        self.given = tuple(sheets), tuple(self._kit_as_of(kit) for kit in kits)
        self.given_files = frozenset([sheet.file for sheet in sheets] + [kit.file for kit in kits])
        self.sheets: dict[str, list[Sheet]] = defaultdict(list)
        self.kits: dict[str, list[Kit]] = defaultdict(list)
        self._folders: set[str] = set()
        self._files: set[str] = set()
        self._in_folder: dict[str, list[Sheet | Kit]] = {}  # what was read in a folder, for every site alike
        for sheet in self.given[0]:
            self._add_sheet(sheet)
        for kit in self.given[1]:
            self._add_kit(kit)

    @property
    def origin(self) -> Origin:
        """What makes the same reach in another process."""
        sheets, kits = self.given
        return [sheet.file for sheet in sheets], [kit.file for kit in kits], self._until

    def for_site(self) -> Reach:
        """The reach of one site: what it finds by looking around stays out of reach of the others."""
        own = Reach((), (), [], self._until)
        own.given, own.given_files = self.given, self.given_files
        own.sheets, own.kits, own._files = self.sheets, self.kits, self._files
        own._in_folder = self._in_folder
        return own

    def log_as_of(self, log: Log) -> Log | None:
        """The log as it stood at the end of the last day; None where it was begun later."""
        if self._until is None:
            return log
        from sitelog.judging.site.until import log_until

        return log_until(log, self._until)

    def _kit_as_of(self, kit: Kit) -> Kit:
        if self._until is None:
            return kit
        from sitelog.judging.site.until import kit_until

        return kit_until(kit, self._until)

    def _add_sheet(self, sheet: Sheet) -> None:
        self._files.add(os.path.realpath(sheet.file))
        others = self.sheets[sheet.name.casefold()]
        if sheet.name and any(other.revision == sheet.revision for other in others):
            message = f"a sheet `{sheet.name}` stands already in {others[0].file}"
            help = "give one of them another name or revision"
            self.findings.append(finding_at(Span(sheet.file), "duplicate-name", message, help))
        others.append(sheet)

    def _add_kit(self, kit: Kit) -> None:
        self._files.add(os.path.realpath(kit.file))
        others = self.kits[kit.name.casefold()]
        if kit.name and others:
            message = f"a kit `{kit.name}` stands already in {others[0].file}"
            help = "give one of them another name"
            self.findings.append(finding_at(Span(kit.file), "duplicate-name", message, help))
        others.append(kit)

    def look_around(self, file: str) -> None:
        """Read the sheets and kits in a log's folder and its parents, up to the repository's root."""
        start = os.path.dirname(os.path.realpath(file)) if file != "-" else os.path.realpath(".")
        folders, tried = _upwards(start)
        self.needs.update(("repository", folder) for folder in tried)
        for folder in folders:
            if folder in self._folders:
                continue
            self._folders.add(folder)
            self.needs.add(("folder", folder))
            if folder not in self._in_folder:
                self._in_folder[folder] = [self._read(path) for path in named_in(folder)]
            new = [
                record
                for record in self._in_folder[folder]
                if os.path.realpath(record.file) not in self._files
            ]
            if new:  # copied first: other sites' reach stays as it is
                self.sheets = defaultdict(list, {name: list(same) for name, same in self.sheets.items()})
                self.kits = defaultdict(list, {name: list(same) for name, same in self.kits.items()})
                self._files = set(self._files)
            for record in new:
                if os.path.realpath(record.file) in self._files:
                    continue  # two links to one file
                if isinstance(record, Sheet):
                    self._add_sheet(record)
                else:
                    self._add_kit(record)

    def _read(self, path: str) -> Sheet | Kit:
        source = read(os.path.relpath(path))
        return read_sheet(source) if role_of(path) == "sheet" else self._kit_as_of(read_kit(source))

    def sheets_named(self, name: str, revision: str) -> list[Sheet]:
        """The sheets that a name can mean: those in the revision asked where one is, else every one."""
        self.needs.add(("sheet", name.casefold()))
        found = self.sheets.get(name.casefold(), [])
        return [sheet for sheet in found if not revision or sheet.revision.casefold() == revision.casefold()]

    def has_base(self, sheet: Sheet) -> bool:
        """Whether what a sheet is based on is in reach, where it is based on anything."""
        return not sheet.based_on or sheet.based_on.casefold() in self.sheets

    def kits_named(self, name: str) -> Sequence[Kit]:
        """The kits of a name: more than one where two files give it."""
        self.needs.add(("kit", name.casefold()))
        return self.kits.get(name.casefold(), ())

    def kit(self, name: str) -> Kit | None:
        """The kit of a name."""
        found = self.kits_named(name)
        return found[0] if found else None

    def assembled(self, sheet: Sheet) -> tuple[Sheet, list[Finding]]:
        """A sheet with everything it is based on, and what is wrong with that."""
        bases = self.bases_of(sheet)
        whole, faults = _assembled(sheet, self.sheets)
        for above, base in zip([sheet, *bases], bases, strict=False):
            if len(same := self.sheets[base.name.casefold()]) > 1:
                files = " and ".join(other.file for other in same)
                message = f"more than one sheet `{base.name}` is in reach: {files}"
                span = Span(above.file, above.based_line, 1, len(above.based_text) + 1, above.based_text)
                help = "give each revision that others are based on a name of its own"
                faults = [*faults, finding_at(span, "missing-sheet", message, help)]
        return whole, faults

    def bases_of(self, sheet: Sheet) -> list[Sheet]:
        """The sheets that a sheet is based on, the nearest first, as far as they are in reach."""
        bases: list[Sheet] = []
        based_on, seen = sheet.based_on.casefold(), set[str]()
        while based_on and based_on not in seen:
            seen.add(based_on)
            self.needs.add(("sheet", based_on))
            found = self.sheets.get(based_on)
            bases += found[:1] if found else ()
            based_on = found[0].based_on.casefold() if found else ""
        return bases

    def toolbox(self, kits: Sequence[Kit], absent: Sequence[str] = ()) -> Toolbox:
        """The tools of the kits that a log names; `absent` are the names of those that are not in reach."""
        return _toolbox(self.kits, tuple(absent), *kits)


# Sites of one fleet share sheets and kits. The dictionaries are no longer changed when these are called.
@remembered(500)
def _assembled(sheet: Sheet, in_reach: dict[str, list[Sheet]]) -> tuple[Sheet, list[Finding]]:
    return assemble(sheet, {name: found[0] for name, found in in_reach.items() if found})


@remembered(500)
def _toolbox(in_reach: dict[str, list[Kit]], absent: tuple[str, ...], *kits: Kit) -> Toolbox:
    return Toolbox(kits, [kit for same in in_reach.values() for kit in same], absent)


def _upwards(folder: str) -> tuple[list[str], list[str]]:
    """The folder and its parents up to the repository's root; without a repository, one parent only.

    With them every folder that was tried for being such a root.
    """
    path = [folder]
    while not is_repository(path[-1]):
        parent = os.path.dirname(path[-1])
        if parent == path[-1]:
            return path[:2], path
        path.append(parent)
    return path, path


def of_unused(sheets: Iterable[Sheet], used: Container[str], reach: Reach) -> list[Finding]:
    """What is wrong between the sheets that no site uses and what they are based on."""
    found: list[Finding] = []
    for sheet in sheets:
        if sheet.based_on and sheet.file not in used:
            own = reach.for_site()
            if sheet.based_on.casefold() not in own.sheets:
                own.look_around(sheet.file)
            found += own.assembled(sheet)[1]
            reach.needs |= own.needs
    return found
