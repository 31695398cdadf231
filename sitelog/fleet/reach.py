"""The sheets and kits that a log can name: those among the paths, then those beside it and above."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from datetime import date

from sitelog.files.records import Kit, Sheet, assemble, read_kit, read_sheet
from sitelog.files.source import is_repository, named_in, read, role_of
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.judging.tools import Toolbox

Need = tuple[str, str]
"""What a judgement rests on: `sheet` or `kit` and a name, `folder`, `repository` or `file` and a path."""
ANY_SHEET: Need = ("sheets", "")
ANY_KIT: Need = ("kits", "")
"""That it rests on which of them there are at all."""


class Reach:
    """The sheets and kits that a log can name: those among the paths, then those beside it and above.

    `needs` collects what was looked up, so that one can tell later what an answer rests on.
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
        self.sheets: dict[str, list[Sheet]] = defaultdict(list)
        self.kits: dict[str, list[Kit]] = defaultdict(list)
        self._folders: set[str] = set()
        self._files: set[str] = set()
        self._known: dict[str, list[Sheet | Kit]] = {}  # what was read in a folder, for every site alike
        self._whole: dict[tuple[int, int], tuple[object, Sheet, tuple[Sheet, list[Finding]]]] = {}
        self._boxes: dict[tuple[tuple[int, ...], int], tuple[object, Toolbox]] = {}
        for sheet in sheets:
            self._add_sheet(sheet)
        for kit in kits:
            self._add_kit(kit)

    def for_one(self) -> Reach:
        """The same reach for one site: what it finds by looking around is not in reach of the others."""
        one = Reach((), (), [], self._until)
        one.sheets, one.kits, one._files = self.sheets, self.kits, self._files
        one._known, one._whole, one._boxes = self._known, self._whole, self._boxes
        return one

    def _add_sheet(self, sheet: Sheet) -> None:
        self._files.add(os.path.realpath(sheet.file))
        others = self.sheets[sheet.name.casefold()]
        if sheet.name and any(other.revision == sheet.revision for other in others):
            message = f"a sheet `{sheet.name}` stands already in {others[0].file}"
            self.findings.append(
                finding(
                    "duplicate-name",
                    message,
                    sheet.file,
                    1,
                    1,
                    2,
                    help="give one of them another name or revision",
                )
            )
        others.append(sheet)

    def _add_kit(self, kit: Kit) -> None:
        self._files.add(os.path.realpath(kit.file))
        others = self.kits[kit.name.casefold()]
        if kit.name and others:
            message = f"a kit `{kit.name}` stands already in {others[0].file}"
            self.findings.append(
                finding("duplicate-name", message, kit.file, 1, 1, 2, help="give one of them another name")
            )
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
            if folder not in self._known:
                self._known[folder] = [self._read(path) for path in named_in(folder)]
            new = [one for one in self._known[folder] if os.path.realpath(one.file) not in self._files]
            if new:  # the others' reach stays as it is
                self.sheets = defaultdict(list, {name: list(some) for name, some in self.sheets.items()})
                self.kits = defaultdict(list, {name: list(some) for name, some in self.kits.items()})
                self._files = set(self._files)
            for one in new:
                if os.path.realpath(one.file) in self._files:
                    continue  # two links to one file
                if isinstance(one, Sheet):
                    self._add_sheet(one)
                else:
                    self._add_kit(one)

    def _read(self, path: str) -> Sheet | Kit:
        source = read(os.path.relpath(path))
        if role_of(path) == "sheet":
            return read_sheet(source)
        kit = read_kit(source)
        if self._until is None:
            return kit
        from sitelog.judging.site.until import kit_until

        return kit_until(kit, self._until)

    def sheet(self, name: str, revision: str) -> Sheet | None:
        """The sheet of a name, in the revision asked where one is."""
        self.needs.add(("sheet", name.casefold()))
        found = self.sheets.get(name.casefold(), [])
        return next(
            (sheet for sheet in found if not revision or sheet.revision.casefold() == revision.casefold()),
            None,
        )

    def kit(self, name: str) -> Kit | None:
        """The kit of a name."""
        self.needs.add(("kit", name.casefold()))
        found = self.kits.get(name.casefold())
        return found[0] if found else None

    def whole(self, sheet: Sheet) -> tuple[Sheet, list[Finding]]:
        """A sheet with everything it is based on, and what is wrong with that."""
        based_on, seen = sheet.based_on.casefold(), set[str]()
        while based_on and based_on not in seen:
            seen.add(based_on)
            self.needs.add(("sheet", based_on))
            found = self.sheets.get(based_on)
            based_on = found[0].based_on.casefold() if found else ""
        # For every site alike that has the same sheets in reach; it holds on to what it is remembered by.
        key = id(sheet), id(self.sheets)
        if key not in self._whole:
            whole = assemble(sheet, {name: found[0] for name, found in self.sheets.items() if found})
            self._whole[key] = self.sheets, sheet, whole
        return self._whole[key][2]

    def toolbox(self, kits: Sequence[Kit]) -> Toolbox:
        """The tools of the kits that a log names; for every site alike that names the same."""
        key = tuple([id(kit) for kit in kits]), id(self.kits)
        if key not in self._boxes:
            box = Toolbox(tuple(kits), [kit for same in self.kits.values() for kit in same])
            self._boxes[key] = (self.kits, tuple(kits)), box
        return self._boxes[key][1]


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
            one = reach.for_one()
            if sheet.based_on.casefold() not in one.sheets:
                one.look_around(sheet.file)
            found += one.whole(sheet)[1]
            reach.needs |= one.needs
    return found
