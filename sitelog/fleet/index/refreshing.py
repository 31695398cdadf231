"""What changed on the disk → what has to be judged again, and that alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from datetime import date
from functools import partial
from itertools import pairwise

from sitelog.asking.rows import tool_row
from sitelog.asking.store.keeping import KeptFile, KeptSite, KeptStore
from sitelog.files.records import Kit, Sheet, read_kit, read_log, read_sheet
from sitelog.files.source import Source, read
from sitelog.findings.finding import Finding
from sitelog.fleet.index.disk import (
    WATCHED,
    Dependency,
    FileStat,
    Snapshot,
    content,
    given_of,
    is_too_recent,
    packed,
    read_with_digest,
    stat_of,
    take_snapshot,
    unpacked,
)
from sitelog.fleet.index.request import IndexRequest
from sitelog.fleet.index.rows import (
    NAMELESS,
    NO_SLOT,
    errors_of,
    in_short,
    kept_alone,
    kept_sites,
    nameless,
    whole,
)
from sitelog.fleet.many import LogFile, SitePipeline, is_readable
from sitelog.fleet.reach import Need, Reach, of_unused
from sitelog.judging.tool_uses import Uses, no_interval, since_calibration, worn_out

LISTED = ("log", "sheet", "kit")
_HEADS = (2, 20)  # lines in which a log has named its site: most, nearly all
_APART = 1 << 16  # slots from one site to the next, for those to come
_MOST_HELD = 500  # files whose lines are held until they are judged; more are read a second time
_WHOLE = ""  # the key of what belongs to no site


class Refreshing:
    """One refresh of a store that is open for writing."""

    def __init__(
        self, store: KeptStore, asked: IndexRequest, now: int, snapshot: Snapshot | None = None
    ) -> None:
        self.store = store
        self.today = asked.today
        self.now = now
        self.processors = asked.processors
        known = set(filter(None, store.fact("histories").split()))
        self.histories = sorted(known | set(asked.histories))
        self.all = self.histories != sorted(known)  # rows are wanted that no site has yet
        self.old_files: dict[str, FileStat] = unpacked(store.packed("files"))
        self.old_things: dict[Dependency, FileStat] = unpacked(store.packed("things"))
        self.snapshot = snapshot or take_snapshot(asked.paths, self.old_things)
        self.unsure = {(file.kind, file.path) for file in store.files(unsure=True)}
        self.read: dict[str, KeptFile] = {}  # the files read now, as they are
        self.changed: set[Need] = set()
        self.stale: set[str] = set()
        self.by_key: dict[str, list[str]] = {}  # the logs of sites, in order
        self.slots: dict[str, int] = {}
        self.sheets: list[Sheet] = []
        self.kits: list[Kit] = []
        self._held: dict[str, tuple[Source, str]] = {}  # the lines of files read now, with their digests

    def run(self) -> None:
        """Bring everything up to date. The caller ends it."""
        is_moved = self._see_files()
        self._see_things()
        self._find_stale(is_moved)
        if self.all or self.stale or self.changed or self.store.fact("today") != self.today.isoformat():
            reach = self._read_around()
            if is_moved:
                self._place()
            self._judge(reach)
            self._whole(reach)
            self._watch()
        self._finish()

    # ---- what changed ----------------------------------------------------------------------------
    def _see_files(self) -> bool:
        """Read the files that changed; whether others are there now, or in another order, or named anew."""
        before, now = self.old_files, self.snapshot.files
        unsure = {path for kind, path in self.unsure if kind in LISTED}
        new = {path for path, seen in now.items() if before.get(path) != seen} | unsure
        gone = before.keys() - now.keys()
        olds = {file.path: file for file in self.store.files_at([*(new & before.keys()), *gone])}
        is_moved = list(before) != list(now)
        changed: list[KeptFile] = []
        for path in filter(new.__contains__, now):
            old = olds.get(path)
            file = self._seen(path, now[path], old)
            if file == old:
                continue
            changed.append(file)
            self.read[path] = file
            is_moved |= old is None or (old.kind, old.name) != (file.kind, file.name)
        for path in gone:
            self._touch(olds[path])
        kinds = {path: file.kind for path, file in self.read.items()}
        self.store.drop_files(
            (file.kind, path)
            for path, file in olds.items()
            if path in gone or kinds.get(path, file.kind) != file.kind
        )
        self.store.keep_files(changed)
        return is_moved

    def _seen(self, path: str, seen: FileStat, old: KeptFile | None) -> KeptFile:
        source, sum = read_with_digest(path)
        unsure = is_too_recent(("log", path), seen, self.now)
        if old is not None and old.digest == sum:
            return old._replace(unsure=unsure)
        if len(self._held) < _MOST_HELD:
            self._held[path] = source, sum
        kind, name = _role_and_name(source)
        new = KeptFile(kind, path, sum, unsure, name, is_readable(source))
        if old is not None:
            self._touch(old)
        self._touch(new)
        return new

    def _touch(self, file: KeptFile) -> None:
        """What rests on this file is to be judged again."""
        if file.kind == "log":
            self.stale.add(file.name)
        else:
            self.changed |= {(file.kind, file.name), (f"{file.kind}s", "")}

    def _see_things(self) -> None:
        now = self.snapshot.dependencies
        new = {dependency for dependency, seen in now.items() if self.old_things[dependency] != seen}
        new |= {dependency for dependency in self.unsure if dependency in now}
        for old in self.store.things(new):
            dependency = old.kind, old.path
            sum = content(*dependency, self.snapshot.given)
            if sum != old.digest:
                self.changed.add(dependency)
            unsure = is_too_recent(dependency, now[dependency], self.now, self.snapshot.given)
            self.store.keep_files([old._replace(digest=sum, unsure=unsure)])

    def _find_stale(self, is_moved: bool) -> None:
        self.stale |= self.store.keys_needing(self.changed)
        if self.store.fact("today") != self.today.isoformat():
            self.stale |= self.store.keys_not_of(self.today.isoformat())
        if is_moved or self.all:
            self.slots = self.store.slots()
            self.by_key = self._logs_of_all()
            if self.all:
                self.stale |= self.slots.keys()
            # Of several logs of one site, the order counts.
            order = {path: at for at, path in enumerate(self.old_files)}
            for key, logs in self.by_key.items():
                before = [order.get(path, -1) for path in logs]
                if len(logs) > 1 and (before[0] < 0 or before != sorted(before)):
                    self.stale.add(key)
        else:
            self.slots = self.store.slots(self.stale)
            self.by_key = {key: self._logs_of(key) for key in self.stale}
        self.stale -= {_WHOLE}

    def _logs_of_all(self) -> dict[str, list[str]]:
        """The logs of every site, sites and logs in the order of the files."""
        names = {file.path: file.name for file in self.store.files(("log",))}
        found: dict[str, list[str]] = defaultdict(list)
        for path in filter(names.__contains__, self.snapshot.files):
            found[names[path]].append(path)
        return found

    def _logs_of(self, key: str) -> list[str]:
        paths = [file.path for file in self.store.files(("log",), name=key)]
        return paths if len(paths) < 2 else self._in_order(paths)

    def _in_order(self, paths: Iterable[str]) -> list[str]:
        return list(filter(set(paths).__contains__, self.snapshot.files))

    # ---- judging ---------------------------------------------------------------------------------
    def _judge(self, reach: Reach) -> None:
        reduce = partial(kept_alone, self.histories)
        pipeline = SitePipeline(reach, self.today, reduce, read_with_digest, self._held)
        is_all = self.store.is_new or self.all
        serials = set() if is_all else set(self.store.needed("serial", self.stale))
        for key in sorted(self.stale, key=lambda key: self.slots.get(key, NO_SLOT)):
            self.store.drop_site(key)
        there = [key for key in self.by_key if key in self.stale]
        wanted = frozenset(there)
        for piece in pipeline.pieces([self._files_of(key) for key in there], self.processors):
            self._keep(piece.files, piece.sites.values(), wanted)
        self.store.finish_rows()
        serials |= set(self.store.shared("serial") if is_all else self.store.needed("serial", there))
        for keys in self._sharing(serials):
            piece = pipeline.whole([self._files_of(key) for key in keys])
            self._keep(piece.files, kept_sites(self.histories, tuple(piece.sites.values())), keys)

    def _keep(self, files: Sequence[LogFile], sites: Iterable[KeptSite], wanted: Container[str]) -> None:
        """Keep the wanted ones of sites in their slots, in place of what was known of them.

        A file that changed just now, after it was listed, may name another site. The next refresh sees to it.
        """
        every = [*(nameless(file) for file in files if not file.site), *sites]
        placed = [site._replace(slot=self.slots[site.key]) for site in every if site.key in wanted]
        for site in placed:
            self.store.drop_site(site.key)
        if placed:
            self.store.keep_sites(placed)
        for file in files:
            known = self.read.get(file.path) or next(iter(self.store.files_at([file.path])))
            if file.digest != known.digest:
                self.store.keep_files([known._replace(unsure=True)])

    def _files_of(self, key: str) -> list[str]:
        if key not in self.by_key:
            self.by_key[key] = self._logs_of(key)
            self.slots |= self.store.slots([key])
        return self.by_key[key]

    def _sharing(self, serials: Iterable[str]) -> list[list[str]]:
        """The sites, two or more at a time, that have a serial in common, as far as these serials lead."""
        groups: list[list[str]] = []
        seen: set[str] = set()
        for serial in sorted(serials):
            left = [serial]
            group: set[str] = set()
            while left:
                shared = left.pop()
                if shared in seen:
                    continue
                seen.add(shared)
                for key in self.store.keys_needing([("serial", shared)]) - group:
                    group.add(key)
                    left += self.store.needed("serial", [key])
            if len(group) > 1 or group - self.stale:
                slots = self.store.slots(group)
                groups.append(sorted(group, key=lambda key: slots[key]))
        return groups

    def _read_around(self) -> Reach:
        findings: list[Finding] = list(self.snapshot.findings)
        there = {file.path: file.kind for file in self.store.files(("sheet", "kit"))}
        for path in self._in_order(there):
            source = self._held[path][0] if path in self._held else read(path)
            if there[path] == "sheet":
                self.sheets.append(read_sheet(source))
            else:
                self.kits.append(read_kit(source))
        return Reach(self.sheets, self.kits, findings)

    def _place(self) -> None:
        """Give each site a slot, so that slots rise as sites come in the files; what holds keeps its own."""
        order = list(self.by_key)
        slots = self._placed(order)
        if any(
            slots[key] >= slots[following] for key, following in pairwise(order)
        ):  # no room left between two
            self.stale |= set(order)
            slots = self._placed(order)
        self.slots = {key: slot for key, slot in self.slots.items() if key in self.stale} | slots

    def _placed(self, order: Sequence[str]) -> dict[str, int]:
        slots: dict[str, int] = {}
        last = 0
        free: list[str] = []
        for key in order:
            slot = self.slots.get(key)
            if key in self.stale or slot is None or slot <= last:
                free.append(key)
                continue
            slots |= _between(free, last, slot) | {key: slot}
            free, last = [], slot
        slots |= _between(free, last, last + (len(free) + 1) * _APART)
        self.stale |= {key for key in order if slots[key] != self.slots.get(key)}
        return slots

    # ---- what belongs to no site -----------------------------------------------------------------
    def _whole(self, reach: Reach) -> None:
        used_sheets = set(self.store.needed_by_any("used-sheet"))
        kits = {kit.file: kit for kit in self.kits}
        if not kits.keys() >= set(self.store.needed_by_any("used-kit")):
            for file in self.store.needed_by_any("used-kit", in_order=True):
                if file not in kits:
                    kits[file] = read_kit(read(file))
        findings = [*of_unused(self.sheets, used_sheets, reach), *reach.findings]
        findings += [fault for sheet in self.sheets for fault in sheet.findings]
        findings += [fault for kit in kits.values() for fault in kit.findings]
        used: Uses = defaultdict(dict)
        for kit_name, tool, day, count in self.store.uses():
            used[kit_name, tool][date.fromisoformat(day)] = count
        findings += worn_out([kit for kit in kits.values() if no_interval(kit)], used)
        rows = []
        for kit in kits.values():
            for name, tool_ in kit.tools.items():
                days = used.get((kit.name, tool_.name), {})
                cycles = since_calibration(kit, name, days)
                used_in_all = sum(days.values())
                rows.append(tool_row(tool_, kit.calibrations.get(name, ()), used_in_all, cycles, self.today))
        errors = sorted({in_short(fault) for fault in errors_of(findings)})
        self.store.drop_site(_WHOLE)
        self.store.keep_sites([whole(_WHOLE, errors, sorted(reach.needs), {"tools": rows})])

    def _watch(self) -> None:
        """Watch what judgements need now, and nothing else."""
        seen = self.snapshot.dependencies
        needed = {(kind, what) for kind in WATCHED for what in self.store.needed_by_any(kind)}
        given = given_of(self.snapshot.files)
        new: list[KeptFile] = []
        for kind, path in sorted(needed - seen.keys()):
            now = stat_of(kind, path, given)
            unsure = is_too_recent((kind, path), now, self.now, given)
            # What changed while it was judged may have been judged by what it was before.
            sum = "" if unsure else content(kind, path, given)
            new.append(KeptFile(kind, path, sum, unsure))
            seen[kind, path] = now
        gone = seen.keys() - needed
        self.store.drop_files(gone)
        for dependency in gone:
            del seen[dependency]
        self.store.keep_files(new)

    def _finish(self) -> None:
        self.store.finish_names()
        facts: dict[str, str | bytes] = {
            "snapshot": self.snapshot.digest,
            "today": self.today.isoformat(),
            "histories": " ".join(self.histories),
            "readable": "yes" if self.store.is_readable() else "",
            "errors": str(self.store.count_errors()),
        }
        if self.snapshot.files != self.old_files:
            facts["files"] = packed(self.snapshot.files)
        if self.snapshot.dependencies != self.old_things:
            facts["things"] = packed(self.snapshot.dependencies)
        self.store.set_facts(facts)


def _between(keys: Sequence[str], low: int, high: int) -> dict[str, int]:
    step = (high - low) / (len(keys) + 1)
    return {key: low + int(step * at) for at, key in enumerate(keys, 1)}


def _role_and_name(source: Source) -> tuple[str, str]:
    if source.role == "sheet":
        return "sheet", read_sheet(source).name.casefold()
    if source.role == "kit":
        return "kit", read_kit(source).name.casefold()
    for head in _HEADS:
        log = read_log(source._replace(lines=source.lines[:head]))
        if log.site or len(source.lines) <= head:
            return "log", log.site.casefold() or f"{NAMELESS}{source.file}"
    return "log", read_log(source).site.casefold() or f"{NAMELESS}{source.file}"
