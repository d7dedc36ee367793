"""Forks recalc and share from one process with everything loaded, and starves or races them.

A program of its own because forking under pytest's threads is not safe. The evaluation is done once
and its answer reused, so that a run is short. :mod:`tests.workbook_template.kills` kills commands.
"""

import copy
import json
import os
import resource
import subprocess
import sys
from datetime import datetime, timezone
from pathlib import Path

from workbook_template.travel import atomic, recalc, share
from workbook_template.travel.fresh_values import Calls, _job, fresh_values
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.recording import Numbering
from workbook_template.user_errors import BookError

NOW = datetime(2025, 3, 4, 5, 6, tzinfo=timezone.utc)


def forked(work) -> int:
    """Process id of a fork that does the work."""
    process = os.fork()
    if process == 0:
        try:
            work()
        except BookError:
            os._exit(3)
        os._exit(0)
    return process


def prepared(kind: str, path: Path):
    """The work, the file that it writes, and what that may hold: nothing or the old bytes, and the
    new bytes.
    """
    book = StoredBook(Package.read(path))
    calls = Calls(book)
    answer = fresh_values(book, calls, numbering=Numbering(calls))

    def answered(book, calls, heard=None, numbering=None, **_):
        """The same figures each time, with the numbers of the calls where they are wanted."""
        if numbering is not None:
            _job(book, calls, {}, numbering)
        return copy.deepcopy(answer)

    recalc.fresh_values = share.fresh_values = answered
    old = path.read_bytes()
    if kind == "recalc":
        package = Package(old, path.name)
        recalc.refreshed(package)
        return lambda: recalc.recalculate(path), path, old, package.tobytes()
    target = path.with_name("plan-shared.xlsx")
    new = share.shared(Package(old, path.name), now=NOW).data
    return (
        lambda: atomic.write(target, share.shared(Package.read(path), now=NOW).data),
        target,
        None,
        new,
    )


def put(path: Path, data: bytes | None) -> None:
    """The file as it was."""
    path.unlink(missing_ok=True)
    if data is not None:
        path.write_bytes(data)


def held(path: Path) -> bytes | None:
    return path.read_bytes() if path.exists() else None


def full(kind: str, path: Path) -> dict:
    """No room: a small file system where one may be mounted, else a limit of file size, which fails
    alike.
    """
    small = path.parent / "small"
    small.mkdir()
    pages = -(-path.stat().st_size // 4096) + 1
    mounted = (
        subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={pages * 4}k", "tmpfs", str(small)],
            capture_output=True,
        ).returncode
        == 0
    )
    try:
        if mounted:
            inside = small / path.name
            inside.write_bytes(path.read_bytes())
            path = inside
        return _without_room(kind, path, mounted)
    finally:
        if mounted:
            subprocess.run(["umount", str(small)], check=False)


def _without_room(kind: str, path: Path, mounted: bool) -> dict:
    work, target, old, _ = prepared(kind, path)
    before = path.read_bytes()
    reader, writer = os.pipe()
    process = os.fork()
    if process == 0:
        try:
            if not mounted:
                resource.setrlimit(resource.RLIMIT_FSIZE, (1024, 1024))
            work()
        except BookError as error:
            os.write(writer, str(error).encode())
        finally:
            os._exit(0)
    os.waitpid(process, 0)
    os.close(writer)
    with os.fdopen(reader) as pipe:
        sentence = pipe.read()
    return {
        "sentence": sentence,
        "unchanged": path.read_bytes() == before and (held(target) == old),
        "files": sorted(name for name in os.listdir(path.parent) if name != "small"),
    }


def twice(kind: str, path: Path, count: int) -> dict:
    """Two at once: each ends well, or says that the other one was there; the file is whole."""
    work, target, old, new = prepared(kind, path)
    result = {"broken": [], "unexpected": []}
    for number in range(count):
        put(target, old)
        processes = [forked(work), forked(work)]
        codes = [os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]) for process in processes]
        if held(target) != new or list(path.parent.glob(".*.part")):
            result["broken"].append(number)
        if 0 not in codes or not set(codes) <= {0, 3}:
            result["unexpected"].append(codes)
    return result


if __name__ == "__main__":
    task, kind, path, *numbers = sys.argv[1:]
    print(json.dumps({"full": full, "twice": twice}[task](kind, Path(path), *map(int, numbers))))
