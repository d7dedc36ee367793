"""Runs a program for a command, and ends it with all that it started as soon as the command is
gone, however it went.

``python keeper.py [PATH ...] -- PROGRAM [ARGUMENT ...]``. Standard input stays open as long as the
command lives; a line on it ends the program. Where it closes without one, the command was killed:
then the paths, folders and files that it could not clear away itself, go too, with the locks beside
the folders (:mod:`udfs.hosts.calc.scratch`). Standard library only; exit code and output are the
program's.
"""

import os
import shutil
import signal
import subprocess
import sys
import threading

Process = subprocess.Popen[bytes]

#: Exit code and first word where the program does not start at all.
NO_START, NO_START_WORD = 127, "keeper:"
#: Set as soon as the program is ended from here, and not by itself.
LEAVING = threading.Event()


def main(arguments: list[str]) -> int:
    """Run the program to its end, or to the command's."""
    place = arguments.index("--")
    folders, command = arguments[:place], arguments[place + 1 :]
    try:
        running = subprocess.Popen(command, stdin=subprocess.DEVNULL, start_new_session=True)
    except OSError as error:
        print(NO_START_WORD, error.strerror, flush=True)
        return NO_START
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), lambda *_: leave(running, []))
    threading.Thread(target=wait, args=(running, folders), daemon=True).start()
    code = running.wait()
    if LEAVING.is_set():
        threading.Event().wait()  # the other thread is still clearing away, and ends this process
    end(running)
    return code if code >= 0 else 128 - code


def wait(running: Process, folders: list[str]) -> None:
    """Wait for the command's word or its end."""
    leave(running, [] if os.read(0, 1) else folders)


def leave(running: Process, folders: list[str]) -> None:
    """End the program and this process."""
    LEAVING.set()
    end(running)
    for folder in folders:
        shutil.rmtree(folder, ignore_errors=True)
        for file in (folder, folder + ".lock"):
            try:
                os.unlink(file)
            except OSError:
                pass
    os._exit(1)


def end(running: Process) -> None:
    """End a program's whole group; an office that was started is only the parent of the one that
    works.
    """
    if sys.platform == "win32":
        subprocess.run(["taskkill", "/T", "/F", "/PID", str(running.pid)], capture_output=True)
        return
    try:
        os.killpg(running.pid, signal.SIGKILL)
    except OSError:
        pass


if __name__ == "__main__":
    status = main(sys.argv[1:])
    sys.stdout.flush()
    os._exit(status)
