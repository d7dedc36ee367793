"""LibreOffice on this machine: where it is, a clean environment for it, and a headless one of our
own to work with.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from udfs.hosts import HostError
from udfs.hosts.calc import extension, keeper, quiet_profile, scratch

WINDOWS = sys.platform == "win32"
NOT_FOUND = (
    "LibreOffice is not found; install LibreOffice Calc (on Debian and Ubuntu: apt install"
    " libreoffice-calc python3-uno), or name its folder with --office PATH"
)
#: How often unopkg is asked where it broke off, and its word for that.
TIMES, BROKE_OFF = 3, "disposed during call"
_HERE = Path(__file__).parent


class Programs:
    """The programs of one LibreOffice: ``soffice``, ``unopkg`` and its Python."""

    def __init__(self, folder: Path):
        self.folder = folder
        ending = ".com" if WINDOWS else ""
        self.soffice = folder / f"soffice{ending}"
        self.unopkg = folder / f"unopkg{ending}"

    @property
    def python(self) -> str:
        """The Python that can work this LibreOffice."""
        for path in (
            self.folder / "python.exe",
            self.folder / "python",
            self.folder.parent / "Resources" / "python",
        ):
            if os.path.isfile(path):
                return str(path)
        return "/usr/bin/python3"

    def run(
        self,
        program: Path,
        *arguments: str,
        seconds: float = 120,
        env: dict[str, str] | None = None,
    ) -> subprocess.CompletedProcess[str]:
        """Run a program to its end and keep what it says; past its time it is ended with all that
        it started.
        """
        running = Kept(
            program,
            *arguments,
            env=env,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
        )
        with running:
            try:
                said, _ = running.communicate(timeout=seconds)
            except subprocess.TimeoutExpired:
                raise HostError(
                    f"{program.name} did not end within {seconds:g} s; close LibreOffice and try"
                    " again"
                ) from None
            finally:
                running.end()
        if running.returncode == keeper.NO_START and said.startswith(keeper.NO_START_WORD):
            raise HostError(f"{program} does not start ({said.partition(' ')[2].strip()})")
        return subprocess.CompletedProcess([program, *arguments], running.returncode, said)


class Kept(subprocess.Popen[str]):
    """A program under :mod:`udfs.hosts.calc.keeper`, which ends it, and all that it starts, with
    this process.
    """

    def __init__(
        self,
        program: Path | str,
        *arguments: str,
        env: dict[str, str] | None = None,
        leaves: tuple[Path, ...] = (),
        **streams: Any,
    ):
        """Start it; ``leaves`` are files that it cannot take away itself when it is ended."""
        theirs, self._word = os.pipe()
        self._leaves = leaves
        keep = [sys.executable, "-I", "-S", _HERE / "keeper.py", *scratch.live(), *leaves, "--"]
        try:
            super().__init__(
                [*keep, program, *arguments],  # type: ignore[list-item]
                env=env or environment(),
                stdin=theirs,
                start_new_session=True,
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
                **streams,
            )
        finally:
            os.close(theirs)

    def end(self) -> None:
        """End it at once, where it still runs."""
        word, self._word = self._word, None  # type: ignore[assignment]
        if word is not None:
            with contextlib.suppress(OSError):  # it has ended
                os.write(word, b"\n")
            os.close(word)
        self.wait()
        for left in self._leaves:
            with contextlib.suppress(OSError):
                left.unlink()


def find(path: str | None = None) -> Programs:
    """The LibreOffice of this machine, or the one in or at ``path``; HostError where there is
    none.
    """
    for folder in _named(Path(path)) if path else _usual():
        if os.path.isfile(folder / ("soffice.com" if WINDOWS else "soffice")):
            return Programs(folder)
    raise HostError(
        f"there is no LibreOffice in {path}; name the folder that holds soffice"
        if path
        else NOT_FOUND
    )


def _named(path: Path) -> Iterator[Path]:
    if os.path.isfile(path):
        yield path.resolve().parent
    yield from (path, path / "program", path / "Contents" / "MacOS")


def _usual() -> Iterator[Path]:
    for name in ("soffice", "libreoffice"):
        found = shutil.which(name)
        if found:
            yield Path(found).resolve().parent
    if WINDOWS:
        for variable in ("ProgramW6432", "ProgramFiles", "ProgramFiles(x86)"):
            if os.environ.get(variable):
                yield from sorted(
                    Path(os.environ[variable]).glob("LibreOffice*/program"), reverse=True
                )
    elif sys.platform == "darwin":
        for root in (Path("/Applications"), Path.home() / "Applications"):
            yield root / "LibreOffice.app" / "Contents" / "MacOS"
    else:
        yield from (Path("/usr/lib/libreoffice/program"), Path("/usr/lib64/libreoffice/program"))
        yield from sorted(Path("/opt").glob("libreoffice*/program"), reverse=True)


def environment(home: Path | None = None) -> dict[str, str]:
    """This process's environment without its Python, which an office might load in place of its
    own.

    Where no locale is set, file names count as UTF-8. With a ``home`` other than the user's the
    locale is none of the user's either, so that a document becomes the same everywhere.
    """
    clean = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("PYTHON") and name != "VIRTUAL_ENV"
    }
    folders = clean.get("PATH", "").split(os.pathsep)
    clean["PATH"] = os.pathsep.join(
        f for f in folders if not os.path.isfile(Path(f).parent / "pyvenv.cfg")
    )
    if not WINDOWS and not any(
        "UTF-8" in clean.get(name, "").upper() for name in ("LC_ALL", "LC_CTYPE", "LANG")
    ):
        clean["LC_ALL"] = "C.UTF-8"
    for folder in scratch.live()[-1:]:  # what an office leaves when it is ended goes with ours
        clean |= dict.fromkeys(("TMP", "TEMP") if WINDOWS else ("TMPDIR",), str(folder))
    if home and not WINDOWS:
        clean |= {"HOME": str(home), "LC_ALL": "C.UTF-8"}
    return clean


def profile_options(profile: Path | None) -> list[str]:
    """Options by which soffice and unopkg use a profile of our own, with its extensions inside
    it.
    """
    if profile is None:
        return []
    url = profile.resolve().as_uri()
    return [f"-env:UserInstallation={url}", f"-env:UNO_SHARED_PACKAGES_CACHE={url}/shared"]


class Office:
    """A headless LibreOffice with a profile of its own, worked over a pipe; use it in a ``with``
    statement.

    Parameters
    ----------
    programs
        Which LibreOffice.
    profile
        Folder of the profile, made where there is none.
    locale
        Locale by which numbers are typed and shown, for example ``de-DE``.
    seconds
        How long one request may take before the office is ended.
    """

    def __init__(
        self, programs: Programs, profile: Path, locale: str = "en-US", seconds: float = 180
    ):
        self.programs = programs
        self.profile = profile
        self.seconds = seconds
        quiet_profile.write(profile, locale)

    def __enter__(self) -> Office:
        pipe = f"spargesheet{secrets.token_hex(8)}"
        options = [
            "--headless",
            "--norestore",
            "--nologo",
            "--nodefault",
            f"--accept=pipe,name={pipe};urp",
        ]
        self.late = False
        self.office = Kept(
            self.programs.soffice,
            *options,
            *profile_options(self.profile),
            leaves=() if WINDOWS else (Path(f"/tmp/OSL_PIPE_{os.getuid()}_{pipe}"),),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            self.driver = subprocess.Popen(
                [self.programs.python, _HERE / "driver.py", pipe, "60"],
                env=environment(),
                text=True,
                encoding="utf-8",
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        except BaseException as error:
            self.office.end()
            if isinstance(error, OSError):
                raise HostError(
                    f"{self.programs.python} does not start ({error.strerror})"
                ) from None
            raise
        return self

    def __exit__(self, kind: Any, *_: Any) -> None:
        try:
            if kind is None:
                self.ask("quit")
                self.office.wait(30)
        except (HostError, subprocess.TimeoutExpired):
            pass
        finally:
            self.kill()
            for stream in (self.driver.stdin, self.driver.stdout):
                with contextlib.suppress(OSError):
                    stream.close()  # type: ignore[union-attr]
            self.driver.wait()

    def kill(self) -> None:
        """End the office and what works it at once."""
        self.office.end()
        self.driver.kill()

    def _give_up(self) -> None:
        self.late = True
        self.kill()

    def ask(self, method: str, *arguments: Any) -> Any:
        """Answer of a method of :class:`udfs.hosts.calc.driver.Driver`; HostError where LibreOffice
        has none.
        """
        timer = threading.Timer(self.seconds, self._give_up)
        timer.daemon = True
        timer.start()
        try:
            self.driver.stdin.write(json.dumps([method, arguments]) + "\n")  # type: ignore[union-attr]
            self.driver.stdin.flush()  # type: ignore[union-attr]
            line = self.driver.stdout.readline()  # type: ignore[union-attr]
        except OSError:
            line = ""
        finally:
            timer.cancel()
        if self.late:
            raise HostError(f"LibreOffice took more than {self.seconds:g} s over it")
        if not line:
            raise HostError(
                "LibreOffice stopped, or its Python cannot work it (on Debian and Ubuntu: apt"
                " install python3-uno)"
            )
        answer = json.loads(line)
        if "error" in answer:
            raise HostError(f"LibreOffice says: {answer['error']}")
        return answer["answer"]


@contextmanager
def with_extension(
    path: str | None = None, locale: str = "en-US", seconds: float = 180
) -> Iterator[Office]:
    """A headless office in a temporary profile that has the extension, gone afterwards.

    Parameters
    ----------
    path
        Where LibreOffice is, if not in a usual place.
    locale, seconds
        As in :class:`Office`.
    """
    programs = find(path)
    with scratch.scratch() as folder:
        profile = folder / "profile"
        register(programs, profile)
        with Office(programs, profile, locale, seconds) as office:
            yield office


def register(
    programs: Programs, profile: Path | None, shared: bool = True, python: str = sys.executable
) -> None:
    """Build the extension and hand it to unopkg, in place of an older one."""
    with scratch.scratch() as folder:
        package = folder / "spargesheet.oxt"
        extension.build(package, python)
        unopkg(
            programs,
            profile,
            "add",
            "--suppress-license",
            "--force",
            *(["--shared"] if shared else []),
            str(package),
        )


def unopkg(programs: Programs, profile: Path | None, command: str, *arguments: str) -> str:
    """What ``unopkg`` says; HostError with its words where it fails.

    The process in which LibreOffice registers an extension breaks off now and then
    (``malloc_consolidate()``, about once in 600 times with LibreOffice 7.4); what unopkg was to do
    is then still to do, and it is asked again.
    """
    for _ in range(TIMES):
        done = programs.run(programs.unopkg, command, *arguments, *profile_options(profile))
        if not done.returncode:
            return str(done.stdout)
        errors = [
            line.strip() for line in done.stdout.splitlines() if line.strip().startswith("ERROR")
        ]
        if errors and not any(BROKE_OFF in line for line in errors):
            break
    said = "; ".join(errors)[:300] or f"exit code {done.returncode}, without a word"
    raise HostError(f"unopkg {command} failed ({said}); close LibreOffice and try again")
