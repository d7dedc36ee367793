"""The child process that evaluates a workbook: one job on standard input, its answer on a way of
its own.

A hostile workbook may make the engine hang, eat memory or crash; here that ends this process only.
It limits itself before it loads anything, loads while the parent puts the job together, and ends
when the parent does (standard input closes). What anything else prints goes to standard error; each
answer begins with the mark that the job gives, so that what was printed before is no answer either.
"""

from __future__ import annotations

import contextlib
import gc
import json
import os
import sys
import threading
from pathlib import Path

#: What the child runs. The standard library comes first on its path and this process's folders
#: last: neither the folder that a user happens to be in nor a backport among the packages stands in
#: for a module of the standard library.
_START = (
    "import sys, json; sys.path += [p for p in json.loads(sys.argv[1]) if p not in sys.path]; "
    "from workbook_template.travel.child import main; main()"
)


def command(seconds: float, size: int) -> list[str]:
    """The command that starts the child with its limits, see :func:`limit`."""
    folders = [folder for folder in sys.path if folder] + [str(Path(__file__).parents[2])]
    return [sys.executable, "-I", "-c", _START, json.dumps(folders), str(seconds), str(size)]


def limit(seconds: float, size: int) -> None:
    """Bound processor time and memory of this process, where the system can."""
    try:
        import resource
    except ImportError:  # Windows
        return
    limits = {
        resource.RLIMIT_CPU: (int(seconds) + 1, int(seconds) + 5),
        resource.RLIMIT_AS: (size, size),
        resource.RLIMIT_CORE: (0, 0),
    }
    for kind, values in limits.items():
        # a system may not allow one of them, or have a lower one
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(kind, values)


def end_with_parent() -> None:
    """End this process as soon as standard input closes."""

    def wait():
        sys.stdin.read()
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


class Reply:
    """Standard output, taken for answers alone, each with the job's mark."""

    def __init__(self) -> None:
        sys.stdout.flush()
        self.mark = ""
        self._private = os.fdopen(os.dup(1), "w", encoding="utf-8")
        os.dup2(2, 1)

    def __call__(self, message: dict) -> None:
        """Send an answer."""
        self._private.write("\n" + self.mark + json.dumps(message) + "\n")
        self._private.flush()


def trouble(error: Exception, size: int) -> str:
    """Why there is no answer, as the parent says it."""
    if isinstance(error, MemoryError):
        return "it needs more memory than is allowed"
    if isinstance(error, ImportError):
        words = " ".join(str(error).split())
        return f"a package cannot be loaded, or not within {size // 1_000_000} MB ({words:.120})"
    return f"the embedded engine refuses it: {error!s:.200}"  # it raises for whole books too


def main() -> None:
    """Answer one job."""
    say = Reply()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    seconds, size = float(sys.argv[2]), int(sys.argv[3])
    limit(seconds, size)
    gc.disable()  # a book becomes millions of objects, of which none is part of a circle
    failed = None
    try:  # while the parent puts the job together
        from workbook_template.travel import evaluation
    except Exception as error:
        failed = trouble(error, size)
    job = json.loads(sys.stdin.readline())
    say.mark = job["mark"]
    end_with_parent()
    try:
        say({"error": failed} if failed else evaluation.Evaluation(job, say).answer())
    except Exception as error:
        say({"error": trouble(error, size)})
    os._exit(0)
