"""What the subcommands that read a workbook have in common."""

from __future__ import annotations

from pathlib import Path

from workbook_template.user_errors import BookError


def output(
    source: Path,
    given: str | None,
    default: Path,
    force: bool,
    kinds: tuple[str, ...] = (".xlsx", ".ods"),
) -> Path:
    """Where the answer goes; never onto the input, and onto another file only with --force."""
    path = Path(given) if given else default
    if path.suffix.lower() not in kinds:
        raise BookError(f"{path.name} must end in {' or '.join(kinds)}")
    if path.exists() and path.samefile(source):
        raise BookError(f"{path} is the input itself; name another file")
    if path.exists() and not force:
        raise BookError(f"{path} exists already; name another file, or replace it with --force")
    return path
