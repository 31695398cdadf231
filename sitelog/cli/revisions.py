"""The edge to git: what revisions are meant, and the logs, sheets and kits of one of them in a folder.

Only git itself is asked, and only for what it has at hand: nothing is fetched, and nothing is written into
the repository or its working tree.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import chdir, contextmanager, suppress
from tempfile import TemporaryDirectory
from typing import NamedTuple

from sitelog.files.source import role_of

_LINK = "120000"  # the mode of a symbolic link in a tree of git
_NO_NAME = frozenset({"", ".", "..", ".git"})  # parts that no path of a tree may have


class RevisionError(Exception):
    """What cannot be told, in one line."""


class Repository(NamedTuple):
    """A repository: its top folder, and the folder in it (empty for the top) that names are shown from."""

    top: str
    base: str

    @property
    def here(self) -> str:
        """The folder that names are shown from."""
        return os.path.join(self.top, self.base) if self.base else self.top


class File(NamedTuple):
    """One file of a tree: its mode and the name of its content."""

    mode: str
    content: str


Tree = dict[str, File]
"""The files of one revision by their paths from the top, `/` between the folders."""


def repository(words: Iterable[str]) -> Repository:
    """The repository of the first word that is a path, else of this folder.

    Names are shown from here; where here lies outside of it, from its top.
    """
    near = next((word for word in words if os.path.lexists(word)), os.curdir)
    folder = os.path.abspath(near if os.path.isdir(near) else os.path.dirname(near))
    try:
        found = _git(folder, *_TOP)
    except RevisionError:
        if near == os.curdir:
            raise
        found = _git(os.path.abspath(os.curdir), *_TOP)
    top, here = os.path.realpath(os.fsdecode(found).removesuffix("\n")), os.path.realpath(os.curdir)
    base = os.path.relpath(here, top) if _is_inside(here, top) else ""
    return Repository(top, "" if base == os.curdir else base)


_TOP = ("rev-parse", "--show-toplevel")


def commit_of(where: Repository, word: str) -> str | None:
    """The commit that a word such as `HEAD~2` names; None where it names none."""
    if not word or "\0" in word or "\n" in word:
        return None
    named = ["rev-parse", "--verify", "--quiet", "--end-of-options"]
    done = _run(where.here, [*named, f"{word}^{{commit}}"])
    return done.stdout.decode().strip() if done.returncode == 0 else None


def range_of(where: Repository, word: str) -> tuple[str, str | None]:
    """`A` (None stands for the working tree), `A..B`, `A..`, `..B`, or `A...B` (since the two parted)."""
    dots = "..." if "..." in word else ".."
    first, between, second = word.partition(dots)
    before = known_commit(where, first or "HEAD")
    if not between:
        return before, None
    after = known_commit(where, second or "HEAD")
    if dots == "...":
        done = _run(where.here, ["merge-base", "--end-of-options", before, after])
        if done.returncode:
            raise RevisionError(f"`{first or 'HEAD'}` and `{second or 'HEAD'}` have no commit in common")
        before = done.stdout.decode().split()[0]
    return before, after


def known_commit(where: Repository, word: str) -> str:
    """The commit that a word names. Raises `RevisionError` where it names none."""
    found = commit_of(where, word)
    if found is not None:
        return found
    if word == "HEAD":
        raise RevisionError("nothing to compare with: this repository has no commit yet")
    hint = "; this clone is shallow, `git fetch --unshallow` gets what is older" if _is_shallow(where) else ""
    raise RevisionError(f"no revision `{word}` in this repository{hint}")


def is_in_head(where: Repository, path: str) -> bool:
    """Whether the last commit has something at a path that is seen from here."""
    asked = ["rev-parse", "--verify", "--quiet", "--end-of-options", f"HEAD:./{path}"]
    return "\0" not in path and _run(where.here, asked).returncode == 0


def paths_in(where: Repository, paths: Iterable[str]) -> list[str]:
    """Paths seen from here as paths from the top (empty for the top itself)."""
    found: list[str] = []
    for path in paths:
        if path == "-":
            raise RevisionError("standard input has no revisions: name files or folders")
        folder, name = os.path.split(os.path.abspath(path))
        real = os.path.join(os.path.realpath(folder), name)
        if not _is_inside(real, where.top):
            raise RevisionError(f"{path} lies outside the repository {where.top}")
        inside = os.path.relpath(real, where.top)
        found.append("" if inside == os.curdir else inside.replace(os.sep, "/"))
    return found


def shown(where: Repository, name: str) -> str:
    """A path from the top as it is seen from here."""
    return os.path.relpath(name or os.curdir, where.base or os.curdir)


def is_selected(name: str, paths: Iterable[str]) -> bool:
    """Whether a file is named, or is a log, sheet or kit in a folder named; hidden ones are passed over."""
    for path in paths:
        if name == path:
            return True
        if not path or name.startswith(f"{path}/"):
            below = name[len(path) + 1 if path else 0 :]
            if role_of(name) and not any(part.startswith(".") for part in below.split("/")):
                return True
    return False


# ---- trees -------------------------------------------------------------------------------------------
def tree_of(where: Repository, commit: str) -> Tree:
    """Every file of a commit; submodules are passed over."""
    listed = _git(where.top, "ls-tree", "-r", "-z", "--full-tree", "--end-of-options", commit)
    found: Tree = {}
    for line in listed.split(b"\0")[:-1]:
        described, _, name = line.partition(b"\t")
        mode, kind, content = described.decode().split()
        path = os.fsdecode(name)
        if kind == "blob" and _NO_NAME.isdisjoint(path.split("/")):
            found[path] = File(mode, content)
    return found


def working_tree(where: Repository, paths: Iterable[str], like: Tree) -> Tree:
    """The logs, sheets and kits on the disk now, whether or not they were added; not what git ignores.

    `like` is a tree of the same repository, which tells how git names contents.
    """
    asked = ["ls-files", "-z", "--cached", "--others", "--exclude-standard", "--full-name"]
    names = {os.fsdecode(name) for name in _git(where.top, *asked).split(b"\0")[:-1]}
    named = set(paths)
    method = "sha256" if any(len(file.content) == 64 for file in like.values()) else "sha1"
    found: Tree = {}
    for name in names | named:
        real = os.path.join(where.top, name)
        if (role_of(name) or name in named) and os.path.isfile(real):
            found[name] = File("", _content_name(read_working(where, name), method))
    return found


def read_working(where: Repository, name: str) -> bytes:
    """The bytes of a file on the disk."""
    with open(os.path.join(where.top, name), "rb") as stream:
        return stream.read()


def _content_name(data: bytes, method: str) -> str:
    """The name git gives to a content: SHA-1, in some repositories SHA-256, over a header and the bytes."""
    from hashlib import new

    digest = new(method, b"blob %d\0" % len(data), usedforsecurity=False)
    digest.update(data)
    return digest.hexdigest()


def contents_of(where: Repository, wanted: Iterable[File]) -> dict[str, bytes]:
    """The bytes of files of a revision by the names of their contents."""
    names = list(dict.fromkeys(file.content for file in wanted))
    if not names:
        return {}
    given = "".join(f"{name}\n" for name in names).encode()
    data = _git(where.top, "cat-file", "--batch", given=given)
    found: dict[str, bytes] = {}
    at = 0
    for name in names:
        end = data.index(b"\n", at)
        described = data[at:end].split()
        if len(described) != 3 or described[1] != b"blob":
            raise RevisionError(f"content {name} is not in this repository; was it cloned in part?")
        at = end + 1 + int(described[2])
        found[name] = data[end + 1 : at]
        at += 1
    return found


@contextmanager
def laid_out(where: Repository, tree: Mapping[str, File], names: Sequence[str]) -> Iterator[None]:
    """Be in a folder in which files of a revision stand where they stood, until the end of the block.

    The files that logs among them name (photos, loggers' files) are laid beside them.
    """
    with TemporaryDirectory(prefix="sitelog-") as top:
        done = {name: tree[name] for name in names if name in tree}
        found = contents_of(where, done.values())
        more = {
            name: tree[name]
            for log in done
            if role_of(log) in ("log", "")
            for name in _named_in(log, found[done[log].content])
            if name in tree and name not in done
        }
        found |= contents_of(where, more.values())
        for name, file in {**done, **more}.items():
            _lay(os.path.join(top, name), file, found[file.content])
        _only_inside(top, [name for name, file in {**done, **more}.items() if file.mode == _LINK])
        # Sheets and kits are looked for up to the top of the repository, which this marks.
        with open(os.path.join(top, ".git"), "wb"):
            pass
        here = os.path.join(top, where.base)
        os.makedirs(here, exist_ok=True)
        with chdir(here):
            yield


def _named_in(log: str, data: bytes) -> Iterator[str]:
    """The files that a log names, as paths from the top."""
    small = data.lower()
    if b"series" not in small and b"photo" not in small:
        return
    from sitelog.files.records import read_log
    from sitelog.files.source import from_bytes
    from sitelog.language.kinds.electric import Series
    from sitelog.language.kinds.paper import Photo

    for line in read_log(from_bytes(data, log, "log")).lines:
        if isinstance(line.record, Series | Photo):
            name = os.path.normpath(os.path.join(os.path.dirname(log), line.record.file_name))
            yield name.replace(os.sep, "/")


def _lay(path: str, file: File, data: bytes) -> None:
    os.makedirs(os.path.dirname(path), exist_ok=True)
    if file.mode == _LINK:
        with suppress(OSError):  # a file system without links: as if it led to nothing
            os.symlink(os.fsdecode(data), path)
        return
    with open(path, "xb") as stream:
        stream.write(data)


def _only_inside(top: str, links: Iterable[str]) -> None:
    """Take away links that lead out of the revision: what lies there now is not what lay there then."""
    real = os.path.realpath(top)
    for name in links:
        path = os.path.join(top, name)
        if os.path.islink(path) and not _is_inside(os.path.realpath(path), real):
            os.unlink(path)


@contextmanager
def at_revision(word: str, paths: Sequence[str]) -> Iterator[list[str]]:
    """Be among the logs, sheets and kits of a revision; gives the paths as they are seen there.

    Raises `RevisionError` where there is no git, no repository, no such revision, or no such path in it.
    """
    where = repository(paths)
    tree = tree_of(where, known_commit(where, word))
    wanted = paths_in(where, paths)
    for path, given in zip(wanted, paths, strict=True):
        if path and path not in tree and not any(name.startswith(f"{path}/") for name in tree):
            raise RevisionError(f"no {given} in revision `{word}`")
    with laid_out(where, tree, [name for name in tree if role_of(name) or name in wanted]):
        for path in wanted:
            os.makedirs(os.path.dirname(os.path.abspath(shown(where, path))), exist_ok=True)
            if path not in tree:
                os.makedirs(shown(where, path), exist_ok=True)
        yield [shown(where, path) for path in wanted]


# ---- asking git --------------------------------------------------------------------------------------
def _git(folder: str, *arguments: str, given: bytes | None = None) -> bytes:
    done = _run(folder, arguments, given)
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        why = said[0].removeprefix("fatal: ") if said else f"it ended with status {done.returncode}"
        if why.startswith("not a git repository"):
            raise RevisionError(f"no git repository in {folder} or above it")
        raise RevisionError(f"git {arguments[0]}: {why}")
    return done.stdout


def _run(
    folder: str, arguments: Sequence[str], given: bytes | None = None
) -> subprocess.CompletedProcess[bytes]:
    # No transport is allowed: a clone in part would fetch what it lacks, and a site log needs no network.
    # Nor is a program run that the repository names for watching its files.
    settings = ["-c", "protocol.allow=never", "-c", "core.fsmonitor=false"]
    command = ["git", "-C", folder, "--no-pager", *settings, *arguments]
    quiet = {"LC_ALL": "C", "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0", "GIT_NO_LAZY_FETCH": "1"}
    try:
        return subprocess.run(
            command, input=given or b"", capture_output=True, check=False, env={**os.environ, **quiet}
        )
    except FileNotFoundError:
        raise RevisionError("git is needed for this, and there is none on this machine") from None


def _is_shallow(where: Repository) -> bool:
    return _run(where.here, ["rev-parse", "--is-shallow-repository"]).stdout.strip() == b"true"


def _is_inside(path: str, folder: str) -> bool:
    return path == folder or path.startswith(os.path.join(folder, ""))
