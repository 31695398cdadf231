"""`sitelog changes`: what commits changed in meaning. Exit status 0 (nothing), 1 (something), 2 (trouble)."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, chdir
from typing import TYPE_CHECKING, NamedTuple

from sitelog.cli.edges import add_today, complain, today_of, wants_color
from sitelog.cli.revisions import (
    File,
    Repository,
    RevisionError,
    Tree,
    commit_of,
    contents_of,
    is_in_head,
    is_selected,
    laid_out,
    paths_in,
    range_of,
    read_working,
    repository,
    shown,
    tree_of,
    working_tree,
)
from sitelog.files.source import role_of

if TYPE_CHECKING:
    from datetime import date

    from sitelog.files.records import Kit, Sheet
    from sitelog.judging.changes import Changes
    from sitelog.judging.judged import Site, Summary


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `changes`."""
    parser.add_argument(
        "words",
        metavar="REV[..REV] | PATH",
        nargs="*",
        help="a revision (against the files as they are now), two of them (A..B; A...B since they parted), "
        "then files and folders (default: HEAD, and this folder)",
    )
    parser.add_argument("--format", choices=("text", "json"), default="text", help="default: text")
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Print what changed; 0 nothing, 1 something, 2 it cannot be told."""
    try:
        found, sites = _compare(args.words, today_of(args))
    except RevisionError as error:
        complain(str(error))
        return 2
    from sitelog.views.changes import changes_json, changes_text
    from sitelog.views.findings import headlines_text

    changed = {site.site for site in found.sites}
    head = sys.stdout if args.format == "text" else sys.stderr
    head.write(headlines_text((site for site in sites if site.site in changed), color=wants_color(head)))
    sys.stdout.write(changes_json(found) if args.format == "json" else changes_text(found))
    return 1 if found else 0


class _FilesState(NamedTuple):
    """One of the two states: its files, how to read one, and how to be where they stand."""

    tree: Tree
    read: Callable[[Iterable[str]], dict[str, bytes]]
    there: Callable[[Sequence[str]], AbstractContextManager[None]]


def _compare(words: Sequence[str], today: date) -> tuple[Changes, Sequence[Summary]]:
    from sitelog.judging.changes import changes

    where = repository(words)
    (first, second), given = _meant(where, words)
    paths = paths_in(where, given or ["."])
    before = _of_commit(where, first)
    after = _of_commit(where, second) if second is not None else _of_disk(where, paths, before.tree)
    for path, word in zip(paths, given, strict=False):
        if not any(
            name == path or name.startswith(f"{path}/") or not path for name in (*before.tree, *after.tree)
        ):
            raise RevisionError(f"{word}: no such file or folder, then or now")
    names = {name for name in (*before.tree, *after.tree) if is_selected(name, paths)}
    asking = _differing(
        before, after, (name for name in (*before.tree, *after.tree) if role_of(name) in _ASK)
    )
    logs = {name for name in names if role_of(name) not in _ASK}
    if not asking:
        logs = _concerned(before, after, logs)
    chosen = sorted(logs | {name for name in names if role_of(name) in _ASK})
    old, new = (_judged(where, state, chosen, today) if logs else [] for state in (before, after))
    found = changes(old, new, _read(where, before, asking), _read(where, after, asking))
    selected = {shown(where, name) for name in names}
    sheets_and_kits = tuple(one for one in found.sheets_and_kits if one.rejudged or one.file in selected)
    return found._replace(sheets_and_kits=sheets_and_kits), [site.summary for site in new]


_ASK = ("sheet", "kit")


def _meant(where: Repository, words: Sequence[str]) -> tuple[tuple[str, str | None], Sequence[str]]:
    """The revisions and the paths; the first word is a path where one of that name stands here."""
    if not words:
        return range_of(where, "HEAD"), ()
    first = words[0]
    is_commit = commit_of(where, first) is not None
    is_path = os.path.lexists(first)
    if is_commit and is_path:
        hint = f"write ./{first} for the file or folder, {first}^0 for the revision"
        raise RevisionError(f"`{first}` is a revision and stands here too: {hint}")
    if is_path or (not is_commit and ".." not in first and is_in_head(where, first)):
        return range_of(where, "HEAD"), words
    return range_of(where, first), words[1:]


# ---- the two states ----------------------------------------------------------------------------------
def _of_commit(where: Repository, commit: str) -> _FilesState:
    tree = tree_of(where, commit)

    def read(names: Iterable[str]) -> dict[str, bytes]:
        wanted = {name: tree[name] for name in names if name in tree}
        found = contents_of(where, wanted.values())
        return {name: found[file.content] for name, file in wanted.items()}

    def there(names: Sequence[str]) -> AbstractContextManager[None]:
        asking = [name for name in tree if role_of(name) in _ASK]
        return laid_out(where, tree, [*names, *asking])

    return _FilesState(tree, read, there)


def _of_disk(where: Repository, paths: Iterable[str], like: Tree) -> _FilesState:
    tree = working_tree(where, paths, like)

    def read(names: Iterable[str]) -> dict[str, bytes]:
        return {name: read_working(where, name) for name in names if name in tree}

    return _FilesState(tree, read, lambda names: chdir(where.here))


def _judged(where: Repository, state: _FilesState, names: Sequence[str], today: date) -> Sequence[Site]:
    from sitelog.fleet.workspace import load

    with state.there(names):
        return load([shown(where, name) for name in names if name in state.tree], today).judged


def _read(where: Repository, state: _FilesState, names: Iterable[str]) -> list[Sheet | Kit]:
    """The sheets and kits of some files."""
    from sitelog.files.records import read_kit, read_sheet
    from sitelog.files.source import from_bytes

    found: list[Sheet | Kit] = []
    for name, data in sorted(state.read(names).items()):
        source = from_bytes(data, shown(where, name))
        record = read_sheet(source) if source.role == "sheet" else read_kit(source)
        if record.name:
            found.append(record)
    return found


def _differing(before: _FilesState, after: _FilesState, names: Iterable[str]) -> set[str]:
    """The files that are not the same in both states."""
    none = File("", "")
    return {
        name for name in names if before.tree.get(name, none).content != after.tree.get(name, none).content
    }


def _concerned(before: _FilesState, after: _FilesState, logs: set[str]) -> set[str]:
    """The logs that can be judged otherwise where no sheet and no kit changed.

    Those that differ, those of the same sites, and those of trials, whose loggers' files may differ.
    """
    from sitelog.files.records import read_log
    from sitelog.files.source import from_bytes

    differing = _differing(before, after, logs)
    sites = {
        read_log(from_bytes(data, name, "log")).site.casefold()
        for state in (before, after)
        for name, data in state.read(differing).items()
    } - {""}
    found = set(differing)
    for name, data in after.read(logs - differing).items():
        text = data.decode("utf-8", "replace").casefold()
        if "series" in text or any(site in text for site in sites):
            found.add(name)
    return found
