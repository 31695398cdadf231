"""What changed on the disk → what has to be judged again, and that alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise

from sitelog.findings.finding import Finding
from sitelog.index.disk import Picture, Stamp, Thing, content, given_of, look, read_with_digest, stamp
from sitelog.index.judging import errors_of, in_short, made, nameless
from sitelog.judge.uses import ToolKey, no_interval, since_calibration, worn_out
from sitelog.records import Kit, Log, Sheet, read_kit, read_log, read_sheet
from sitelog.rows import tool_row
from sitelog.source import Source, read
from sitelog.store.keeping import KeptFile, KeptSite, KeptStore
from sitelog.workspace import Need, Reach, is_readable, of_unused

LISTED = ("log", "sheet", "kit")
WATCHED = ("file", "folder", "repository")
_HEAD = 20  # lines in which nearly every log has named its site
_APART = 1 << 16  # slots from one site to the next, for those to come
_WHOLE = ""  # the key of what belongs to no site


class Refreshing:
    """One refresh of a store that is open for writing."""

    def __init__(
        self, store: KeptStore, paths: Sequence[str], today: date, now: int, histories: Iterable[str]
    ) -> None:
        self.store = store
        self.today = today
        self.now = now
        known = set(filter(None, store.fact("histories").split()))
        self.histories = sorted(known | set(histories))
        self.all = self.histories != sorted(known)  # rows are wanted that no site has yet
        self.old = {(one.kind, one.path): one for one in store.files()}
        watched = [thing for thing in self.old if thing[0] in WATCHED]
        self.picture: Picture = look(paths, watched)
        self.files: dict[str, KeptFile] = {}  # those listed, as they are now
        self.changed: set[Need] = set()
        self.stale: set[str] = set()
        self._sources: dict[str, Source] = {}
        self._reach: Reach | None = None
        self.sheets: list[Sheet] = []
        self.kits: list[Kit] = []

    def run(self) -> None:
        """Bring everything up to date. The caller ends it."""
        self._see_files()
        things = self._see_things()
        self._find_stale()
        if self.all or self.stale or self.changed or self.store.fact("today") != self.today.isoformat():
            self._judge()
            self._whole()
            self._watch(things)
        self._finish()

    # ---- what changed ----------------------------------------------------------------------------
    def _see_files(self) -> None:
        before = {one.path: one for one in self.old.values() if one.kind in LISTED}
        for place, (path, now) in enumerate(self.picture.files.items()):
            old = before.get(path)
            if old is not None and old.stamp == now.text and not old.unsure:
                self.files[path] = old if old.place == place else old._replace(place=place)
            else:
                self.files[path] = self._seen(path, place, now, old)
        for path, one in before.items():
            if path not in self.files:
                self._touch(one)
        fresh = [one for path, one in self.files.items() if one is not before.get(path)]
        now_there = {(one.kind, one.path) for one in self.files.values()}
        gone = [(one.kind, one.path) for one in before.values() if (one.kind, one.path) not in now_there]
        self.store.drop_files(gone)
        self.store.keep_files(fresh)

    def _seen(self, path: str, place: int, now: Stamp, old: KeptFile | None) -> KeptFile:
        unsure = now.unsure(self.now)
        source, sum = read_with_digest(path)
        if old is not None and old.digest == sum:
            return old._replace(place=place, stamp=now.text, unsure=unsure)
        self._sources[path] = source
        kind, name = _role_and_name(source)
        new = KeptFile(kind, path, place, now.text, sum, unsure, name, is_readable(source))
        if old is not None:
            self._touch(old)
        self._touch(new)
        return new

    def _touch(self, one: KeptFile) -> None:
        """What rests on this file is to be judged again."""
        if one.kind == "log":
            self.stale.add(one.name)
        else:
            self.changed |= {(one.kind, one.name), (f"{one.kind}s", "")}

    def _see_things(self) -> dict[Thing, KeptFile]:
        seen: dict[Thing, KeptFile] = {}
        for thing, now in self.picture.things.items():
            old = self.old[thing]
            if old.stamp == now.text and not old.unsure:
                seen[thing] = old
                continue
            sum = content(*thing, self.picture.given)
            if sum != old.digest:
                self.changed.add(thing)
            seen[thing] = old._replace(stamp=now.text, digest=sum, unsure=now.unsure(self.now))
        self.store.keep_files(one for thing, one in seen.items() if one is not self.old[thing])
        return seen

    def _find_stale(self) -> None:
        self.by_key: dict[str, list[str]] = defaultdict(list)
        for path, one in self.files.items():
            if one.kind == "log":
                self.by_key[one.name].append(path)
        self.slots = self.store.slots()
        self.stale |= self.store.keys_needing(self.changed)
        self.stale |= self.store.keys_not_of(self.today.isoformat())
        if self.all:
            self.stale |= self.slots.keys()
        # Of several logs of one site, the order counts.
        self.stale |= {key for key, logs in self.by_key.items() if len(logs) > 1 and not self._in_order(logs)}
        self.stale -= {_WHOLE}

    def _in_order(self, paths: Sequence[str]) -> bool:
        before = [self.old.get(("log", path)) for path in paths]
        places = [one.place for one in before if one is not None]
        return len(places) == len(paths) and places == sorted(places)

    # ---- judging ---------------------------------------------------------------------------------
    def _judge(self) -> None:
        self._reach = self._read_around()
        self._place()
        stale = sorted(self.stale, key=lambda key: self.slots.get(key, 0))
        serials = {what for _, what in self.store.needs("serial", stale)}
        for key in stale:
            self.store.drop_site(key)
        there = [key for key in stale if key in self.by_key]
        for at, key in enumerate(there):
            self._judge_some([key])
            if at % 500 == 499:
                _collect()
        serials |= {what for _, what in self.store.needs("serial", there)}
        for some in self._sharing(serials):
            self._judge_some(some)

    def _judge_some(self, keys: Sequence[str]) -> None:
        assert self._reach is not None
        logs = [[self._log(path) for path in self.by_key[key]] for key in keys]
        if keys[0].startswith("\n"):
            self.store.keep_site(nameless(logs[0][0], keys[0], self.slots[keys[0]]), {})
            return
        slots = [self.slots[key] for key in keys]
        for one in made(logs, slots, self._reach, self.today, self.histories):
            self.store.keep_site(one.site, one.rows)

    def _log(self, path: str) -> Log:
        source = self._sources.get(path)
        if source is None:
            source, sum = read_with_digest(path)
            one = self.files[path]
            if sum != one.digest:  # it changed just now: the next refresh will see to it
                self.store.keep_files([one._replace(stamp="", unsure=True)])
        return read_log(source)

    def _sharing(self, serials: set[str]) -> list[list[str]]:
        """The sites, two or more at a time, that have a serial in common, as far as these serials lead."""
        by_serial: dict[str, set[str]] = defaultdict(set)
        of_site: dict[str, list[str]] = defaultdict(list)
        for key, serial in self.store.needs("serial"):
            by_serial[serial].add(key)
            of_site[key].append(serial)
        groups: list[list[str]] = []
        seen: set[str] = set()
        for serial in sorted(serials):
            left = [serial]
            group: set[str] = set()
            while left:
                one = left.pop()
                if one in seen:
                    continue
                seen.add(one)
                for key in by_serial[one] - group:
                    group.add(key)
                    left += of_site[key]
            if len(group) > 1 or group - self.stale:
                groups.append(sorted(group, key=lambda key: self.slots[key]))
        return groups

    def _read_around(self) -> Reach:
        findings: list[Finding] = list(self.picture.findings)
        for path, one in self.files.items():
            if one.kind == "sheet":
                self.sheets.append(read_sheet(self._sources.get(path) or read(path)))
            elif one.kind == "kit":
                self.kits.append(read_kit(self._sources.get(path) or read(path)))
        return Reach(self.sheets, self.kits, findings)

    def _place(self) -> None:
        """Give each site a slot, so that slots rise as sites come in the files; what holds keeps its own."""
        order = list(self.by_key)
        slots = self._placed(order)
        if any(slots[one] >= slots[other] for one, other in pairwise(order)):  # no room left between two
            self.stale |= set(order)
            slots = self._placed(order)
        self.slots = slots

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
    def _whole(self) -> None:
        assert self._reach is not None
        reach = self._reach
        used_sheets = {file for _, file in self.store.needs("used-sheet")}
        used_kits = dict.fromkeys(file for _, file in self.store.needs("used-kit"))
        kits = {kit.file: kit for kit in self.kits}
        for file in used_kits:
            if file not in kits:
                kits[file] = read_kit(read(file))
        findings = [*of_unused(self.sheets, used_sheets, reach), *reach.findings]
        findings += [one for sheet in self.sheets for one in sheet.findings]
        findings += [one for kit in kits.values() for one in kit.findings]
        used: dict[ToolKey, list[date]] = defaultdict(list)
        for kit_name, tool, day, count in self.store.uses():
            used[kit_name, tool] += [date.fromisoformat(day)] * count
        findings += worn_out([kit for kit in kits.values() if no_interval(kit)], used)
        rows = []
        for kit in kits.values():
            for name, one in kit.tools.items():
                days = used.get((kit.name, one.name), [])
                cycles = since_calibration(kit, name, days)
                rows.append(tool_row(one, kit.calibrations.get(name, ()), len(days), cycles, self.today))
        always = (date.min.isoformat(), date.max.isoformat())
        errors = sorted({in_short(one) for one in errors_of(findings)})
        needs = sorted(reach.needs)
        whole = KeptSite(_WHOLE, 0, *always, 0, (), False, needs, errors, ())
        self.store.keep_site(whole, {"tools": rows})

    def _watch(self, seen: dict[Thing, KeptFile]) -> None:
        """Watch what judgements need now, and nothing else."""
        needed = {(kind, what) for kind in WATCHED for _, what in self.store.needs(kind)}
        self.store.drop_files(seen.keys() - {(kind, what) for kind, what in needed})
        new: list[KeptFile] = []
        given = given_of(self.files)
        for kind, path in sorted(needed - seen.keys()):
            now = stamp(kind, path, given)
            unsure = now.unsure(self.now)
            # What changed while it was judged may have been judged by what it was before.
            sum = "" if unsure else content(kind, path, given)
            new.append(KeptFile(kind, path, 0, now.text, sum, unsure))
            self.picture.things[kind, path] = now
        for thing in seen.keys() - needed:
            del self.picture.things[thing]
        self.store.keep_files(new)

    def _finish(self) -> None:
        readable = any(one.readable for one in self.files.values())
        self.store.set_facts(
            {
                "picture": self.picture.digest,
                "today": self.today.isoformat(),
                "histories": " ".join(self.histories),
                "readable": "yes" if readable else "",
                "errors": str(self.store.count_errors()),
            }
        )


def _between(keys: Sequence[str], low: int, high: int) -> dict[str, int]:
    step = (high - low) / (len(keys) + 1)
    return {key: low + int(step * at) for at, key in enumerate(keys, 1)}


def _role_and_name(source: Source) -> tuple[str, str]:
    if source.role == "sheet":
        return "sheet", read_sheet(source).name.casefold()
    if source.role == "kit":
        return "kit", read_kit(source).name.casefold()
    log = read_log(source._replace(lines=source.lines[:_HEAD]))
    if not log.site and len(source.lines) > _HEAD:
        log = read_log(source)
    return "log", log.site.casefold() or f"\n{source.file}"


def _collect() -> None:
    """Free what judging left behind in circles: the commands pause the collector."""
    import gc

    gc.collect()
