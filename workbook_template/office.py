"""LibreOffice, where a file has to become another kind: .ods in and out, PDF."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
from pathlib import Path

from workbook_template import atomic, bounds
from workbook_template.errors import BookError
from workbook_template.ooxml.package import Package

_PLACES = ("/Applications/LibreOffice.app/Contents/MacOS/soffice", r"C:\Program Files\LibreOffice\program\soffice.exe",
           "/usr/bin/soffice", "/usr/local/bin/soffice")


def soffice() -> str | None:
    """LibreOffice's program, or None."""
    found = shutil.which("soffice") or shutil.which("libreoffice")
    return found or next((place for place in _PLACES if Path(place).exists()), None)


def converted(data: bytes, name: str, kind: str) -> bytes:
    """A document as another kind (``xlsx``, ``ods``, ``pdf``), by LibreOffice with a profile of its own.

    The profile is new and empty, so no extension is there: what comes out is what somebody without the add-in sees.
    """
    program = soffice()
    if program is None:
        raise BookError(f"{name} needs LibreOffice to become .{kind}, and it is not installed here")
    with tempfile.TemporaryDirectory(prefix="spargesheet-") as folder:
        source = Path(folder, "in" + Path(name).suffix)
        source.write_bytes(data)
        target = Path(folder, "out", f"in.{kind}")
        command = [program, f"-env:UserInstallation={Path(folder, 'profile').as_uri()}", "--headless", "--norestore",
                   "--convert-to", kind, "--outdir", str(target.parent), str(source)]
        try:
            running = subprocess.Popen(command, env=environment(folder), start_new_session=True, stdin=subprocess.DEVNULL,
                                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except OSError as error:
            raise BookError(f"LibreOffice cannot be started ({error.strerror or error})") from None
        try:
            running.wait(bounds.OFFICE_SECONDS)
        except subprocess.TimeoutExpired:
            raise BookError(f"LibreOffice takes longer than {bounds.OFFICE_SECONDS} seconds for {name}") from None
        finally:
            _end(running)
        if not target.exists():
            raise BookError(f"LibreOffice cannot turn {name} into .{kind}: it is damaged, encrypted or no spreadsheet")
        return target.read_bytes()


def _end(running: subprocess.Popen) -> None:
    """End a LibreOffice that still runs, with the process that it started itself."""
    if running.poll() is None:
        if hasattr(os, "killpg"):
            os.killpg(running.pid, signal.SIGKILL)
        running.kill()
        running.wait()


def environment(home: str) -> dict[str, str]:
    """An environment without Python's variables, which make LibreOffice's own Python fail; HOME is a scratch folder."""
    if os.name == "nt":
        return {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    return {"PATH": "/usr/bin:/bin", "HOME": home, "LC_ALL": "C.UTF-8"}


def read(path: Path) -> Package:
    """The package of an .xlsx file, or of an .ods file by way of LibreOffice."""
    if path.suffix.lower() != ".ods":
        return Package.read(path)
    if not path.exists():
        raise BookError(f"{path} does not exist")
    if path.stat().st_size > bounds.FILE_BYTES:
        raise BookError(f"{path.name} is larger than {bounds.FILE_BYTES // 1_000_000} MB, the most that is read")
    return Package(converted(path.read_bytes(), path.name, "xlsx"), path.name)


def write(path: Path, data: bytes) -> None:
    """The bytes of an .xlsx file into a file, whole or not at all; by way of LibreOffice for .ods and .pdf."""
    kind = path.suffix.lower()
    if kind in (".ods", ".pdf"):
        data = converted(data, path.stem + ".xlsx", kind[1:])
    atomic.write(path, data)
