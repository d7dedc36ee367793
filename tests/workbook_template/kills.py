"""Kills every writing command at each point where it touches a file, and looks at what is left.

A program of its own because forking under pytest's threads is not safe: ``python -m
tests.workbook_template.kills TASK FOLDER``. The points are counted, not timed: an audit hook hears
of each file that Python opens, renames, removes, locks or makes, and ``os.write`` and ``os.fsync``
are wrapped, with a point in the middle of each write. In the task ``points`` the evaluation, the
template's build and LibreOffice's work are done once and their answers reused, so that a run is
short and the kills fall on reading, editing and writing; in ``office`` the real LibreOffice is at
work when the command dies.
"""

import contextlib
import hashlib
import json
import os
import secrets
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path
from types import SimpleNamespace

from udfs.hosts.calc import convert, office, scratch
from workbook_template.cli import calc_edition
from workbook_template.cli import main as cli
from workbook_template.template import build
from workbook_template.travel import atomic, fresh_values

PIPE = f"kills{os.getpid()}"
WATCHED = {
    "open",
    "os.rename",
    "os.remove",
    "os.mkdir",
    "os.rmdir",
    "os.chmod",
    "os.scandir",
    "os.listdir",
    "os.truncate",
    "fcntl.flock",
    "shutil.rmtree",
    "shutil.move",
    "shutil.copyfile",
}


class Points:
    """Counts the points of a run, and ends the process at one of them."""

    def __init__(self, root: Path):
        self.root, self.count, self.at, self.number = str(root), -1, -1, signal.SIGKILL
        sys.addaudithook(self.hear)
        write, fsync = os.write, os.fsync

        def written(handle, data):
            """In quarters, with a point before and after each."""
            if self.count < 0:
                return write(handle, data)
            done = 0
            for quarter in (1, 2, 3, 4):
                self.reach()
                done += write(handle, data[done : len(data) * quarter // 4])
            self.reach()
            return done

        def synced(handle):
            self.reach()
            fsync(handle)
            self.reach()

        os.write, os.fsync = written, synced

    def hear(self, event, arguments):
        if self.count >= 0 and event in WATCHED:
            path = arguments[0]
            if isinstance(path, int) or os.fsdecode(path or "").startswith(self.root):
                self.reach()

    def reach(self):
        if self.count < 0:
            return
        self.count += 1
        if self.count == self.at:
            os.kill(os.getpid(), self.number)

    def start(self, at: int, number: int = signal.SIGKILL):
        self.count, self.at, self.number = 0, at, number


class Desk:
    """A folder with books, a folder for temporary files, and the commands."""

    def __init__(self, root: Path):
        self.root = root
        self.books, self.temporary, self.record = root / "books", root / "tmp", root / "record"
        self.books.mkdir()
        self.temporary.mkdir()
        tempfile.tempdir = str(self.temporary)
        os.environ["TMPDIR"] = str(self.temporary)
        for name in ("plan.xlsx", "brewery.xlsx", "live.ods"):
            if (root / name).exists():
                shutil.copy(root / name, self.books / name)
        (self.books / "readings.csv").write_text(
            "date,batch,water,acid,volume,target_ph,ph_before,dose,ph_after\n"
            "2026-01-12,0206,town MAIN,Phosphoric 75 drum,11.2,5.7,7.5,238,5.72\n"
        )
        #: What atomic.write was given, so that a whole new file is known by its bytes.
        whole = atomic.write

        def recorded(path, data, **more):
            with open(self.record, "a") as file:
                file.write(hashlib.sha256(data).hexdigest() + "\n")
            return whole(path, data, **more)

        atomic.write = recorded

    def book(self, name: str) -> str:
        return str(self.books / name)

    def state(self) -> dict[str, str]:
        return {
            path.name: hashlib.sha256(path.read_bytes()).hexdigest()
            for path in sorted(self.books.iterdir())
        }

    def put(self, state: dict[str, bytes]) -> None:
        shutil.rmtree(self.books)
        self.books.mkdir()
        for name, data in state.items():
            (self.books / name).write_bytes(data)
        shutil.rmtree(self.temporary)
        self.temporary.mkdir()
        self.record.unlink(missing_ok=True)

    def written(self) -> set[str]:
        return set(self.record.read_text().split()) if self.record.exists() else set()


def quiet(arguments: list[str]) -> int:
    with open(os.devnull, "w") as null, contextlib.redirect_stdout(null):
        with contextlib.redirect_stderr(null):
            return cli.main(arguments)


def forked(work) -> int:
    """How a fork that does the work ended: its exit code, or minus the signal's number."""
    process = os.fork()
    if process == 0:
        code = 99
        try:
            code = work()
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def remembering(process):
    """An engine whose process starts for jobs only that were not answered before."""
    found = {}

    class Remembering:
        def __init__(self, *limits):
            self.limits = limits

        def __enter__(self):
            return self

        def __exit__(self, *_):
            pass

        def ask(self, job):
            self.job = job

        def answer(self, heard):
            where = hashlib.sha256(json.dumps(self.job).encode()).hexdigest()
            if where not in found:
                with process(*self.limits) as real:
                    real.ask(self.job)
                    found[where] = real.answer(heard)
            return found[where]

    return Remembering


def remembered() -> None:
    """Slow work is done once and its answer reused."""

    def memo(module, name, key):
        real, found = getattr(module, name), {}

        def reused(*arguments, **options):
            where = key(*arguments)
            if where not in found:
                found[where] = real(*arguments, **options)
            return found[where]

        setattr(module, name, reused)

    fresh_values.EngineProcess = remembering(fresh_values.EngineProcess)
    memo(convert, "converted", lambda programs, data, suffix, kind, seconds: (suffix, kind))
    memo(calc_edition, "_through_calc", lambda data, suffix, kind, *_: (suffix, kind))

    def built(path, *_, **__):
        data = build.TEMPLATE.read_bytes()
        with open(path, "wb") as file:
            file.write(data[:1000])
            file.flush()
            file.write(data[1000:])
        return []

    build.build = built


def commands(desk: Desk) -> dict[str, list[str]]:
    """Every writing command; what stands there already is replaced."""
    book = desk.book
    return {
        "recalc": ["recalc", book("plan.xlsx")],
        "share": ["share", book("plan.xlsx"), book("out.xlsx"), "--force"],
        "restore": ["restore", book("copy.xlsx"), book("out.xlsx"), "--force"],
        "log add": [
            *("log", "add", book("brewery.xlsx"), "--csv", book("readings.csv")),
            *(book("out.xlsx"), "--force"),
        ],
        "new": ["new", book("out.xlsx"), "--force"],
        "new ods": ["new", book("out.ods"), "--force"],
        "carry": ["carry", book("brewery.xlsx"), book("out.xlsx"), "--force"],
        "example": ["example", "dose", book("out.xlsx"), "--force"],
        "share pdf": ["share", book("plan.xlsx"), book("out.xlsx"), "--pdf", "--force"],
        "convert to ods": ["convert", book("plan.xlsx"), book("out.ods"), "--force"],
        "convert to xlsx": ["convert", book("live.ods"), book("out.xlsx"), "--force"],
    }


#: Commands that take seconds even so: they are killed at few points.
SLOW = {"log add": 6, "new ods": 8, "carry": 8, "example": 12}


def points(root: Path) -> dict:
    """Each command, killed at every point that it has; with an old file in the target's place, and
    with none.
    """
    desk = Desk(root)
    remembered()
    assert quiet(["share", desk.book("plan.xlsx"), desk.book("copy.xlsx")]) == 0
    bare = {path.name: path.read_bytes() for path in desk.books.iterdir()}
    old = {name: b"the good old file" for name in ("out.xlsx", "out.ods", "out.pdf")}
    hook = Points(root)
    result = {"kills": 0, "old": 0, "new": 0, "wrong": []}
    for name, arguments in commands(desk).items():
        for start in [bare | old] if name == "recalc" or name in SLOW else [bare | old, bare]:
            run_to_pieces(desk, hook, name, arguments, start, result)
    return result


def run_to_pieces(desk, hook, name, arguments, start, result) -> None:
    """Kill one command at its points; count what is found, and say what should not be."""
    desk.put(start)
    before = desk.state()
    code = quiet(arguments)  # fills what is remembered
    if code:
        result["wrong"].append(f"{name}: exit code {code}")
        return
    desk.put(start)
    hook.start(-1)
    quiet(arguments)
    total, hook.count = hook.count, -1
    changed = {file for file, held in desk.state().items() if before.get(file) != held}
    targets = [Path(desk.book(file)) for file in changed]
    most = SLOW.get(name, total)
    for at in sorted({1 + number * (total - 1) // (most - 1) for number in range(most)}):
        desk.put(start)

        def work(at=at):
            hook.start(at)
            return quiet(arguments)

        ended = forked(work)
        found, written = desk.state(), desk.written()
        where = f"{name}, point {at} of {total}"
        if ended == -signal.SIGKILL:
            result["kills"] += 1
        else:
            result["wrong"].append(f"{where}: ended with {ended}")
        for file in changed | before.keys():
            if found.get(file) == before.get(file):
                result["old"] += file in changed
            elif file in changed and found.get(file) in written:
                result["new"] += 1
            else:
                result["wrong"].append(f"{where}: {file} is neither old nor new")
        if name in SLOW:  # what the next run does first
            for target in targets:
                atomic.clear(target)
            scratch.clear()
            expected = before.keys() | (found.keys() & changed)
        else:
            ended = forked(lambda: quiet(arguments))
            expected = before.keys() | changed
            if ended != code:
                result["wrong"].append(f"{where}: the next run ended with {ended}")
        left = [*(desk.state().keys() ^ expected), *os.listdir(desk.temporary)]
        if left:
            result["wrong"].append(f"{where}: the next run left or took {left}")


def alive(root: Path) -> list[str]:
    """Processes that work in the folder."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            line = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            if str(root / "tmp") in line and int(entry.name) != os.getpid():
                found.append(line)
    return found


def sockets() -> list[str]:
    """Pipes of a headless office of this process's children, which stand in /tmp by their name."""
    return [str(path) for path in Path("/tmp").glob(f"OSL_PIPE_*_spargesheet{PIPE}*")]


def at_work(root: Path) -> dict:
    """Commands whose LibreOffice is at work when they are ended; each by a signal, at a point of
    the work.
    """
    desk = Desk(root)
    build.build = lambda path, *_, **__: shutil.copy(build.TEMPLATE, path)
    for name in ("out.xlsx", "out.ods", "out.pdf"):
        (desk.books / name).write_bytes(b"the good old file")
    start = {path.name: path.read_bytes() for path in desk.books.iterdir()}
    every = commands(desk)
    office.secrets = SimpleNamespace(token_hex=lambda size: PIPE + secrets.token_hex(size))
    ask, kept = office.Office.ask, office.Kept.__init__
    cases = [
        ("convert to ods", "start 1", signal.SIGKILL),
        ("convert to ods", "start 2", signal.SIGKILL),
        ("convert to ods", "open", signal.SIGTERM),
        ("convert to ods", "recalculate", signal.SIGKILL),
        ("convert to xlsx", "save", signal.SIGKILL),
        ("convert to xlsx", "quit", signal.SIGINT),
        ("new ods", "open", signal.SIGHUP),
        ("share pdf", "start 1", signal.SIGKILL),
        ("share pdf", "start 1", signal.SIGTERM),
    ]
    result = {"kills": 0, "wrong": []}
    for name, point, number in cases:
        desk.put(start)
        before = desk.state()

        def work(name=name, point=point, number=number):
            count = 0

            def started(self, *arguments, **options):
                nonlocal count
                kept(self, *arguments, **options)
                count += 1
                if point == f"start {count}":
                    os.kill(os.getpid(), number)

            def asked(self, method, *arguments):
                if point == method:
                    os.kill(os.getpid(), number)
                return ask(self, method, *arguments)

            office.Kept.__init__, office.Office.ask = started, asked
            return quiet(every[name])

        ended = forked(work)
        expected = -number if number == signal.SIGKILL else 128 + number
        where = f"{name} at {point} by {signal.Signals(number).name}"
        if ended != expected:
            result["wrong"].append(f"{where}: ended with {ended}")
        result["kills"] += 1
        limit = time.monotonic() + 20
        while (
            left := [*alive(root), *os.listdir(desk.temporary), *sockets()]
        ) and time.monotonic() < limit:
            time.sleep(0.05)
        if left:
            result["wrong"].append(f"{where}: left {left}")
        found = desk.state()
        changed = {file for file in found if found[file] != before.get(file)}
        if changed and not (name == "share pdf" and changed == {"out.xlsx"}):
            result["wrong"].append(f"{where}: changed {sorted(changed)}")
    return result


if __name__ == "__main__":
    task, folder, *numbers = sys.argv[1:]
    run = {"points": points, "office": at_work}[task]
    print(json.dumps(run(Path(folder), *map(int, numbers))))
