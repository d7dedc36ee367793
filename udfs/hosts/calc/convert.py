"""Documents as another kind, by a headless LibreOffice that ends when it is done."""

from __future__ import annotations

from pathlib import Path

from udfs.hosts.calc import quiet_profile, scratch
from udfs.hosts.calc.office import Programs, environment, profile_options


def convert(
    programs: Programs,
    source: Path,
    kind: str,
    folder: Path,
    profile: Path | None,
    *,
    home: Path | None = None,
    seconds: float = 120,
) -> Path:
    """Where the document should stand now as ``kind``; LibreOffice tells by no exit code whether it
    does.

    Parameters
    ----------
    programs
        Which LibreOffice.
    source
        The document.
    kind
        As ``soffice --convert-to`` takes it: ``xlsx``, or an ending with a filter and its options.
    folder
        Where it goes.
    profile
        Folder of another LibreOffice profile than the user's own.
    home
        As in :func:`udfs.hosts.calc.office.environment`.
    seconds
        How long it may take.
    """
    programs.run(
        programs.soffice,
        "--headless",
        "--norestore",
        "--convert-to",
        kind,
        "--outdir",
        str(folder),
        str(source),
        *profile_options(profile),
        env=environment(home),
        seconds=seconds,
    )
    return folder / f"{source.stem}.{kind.partition(':')[0]}"


def converted(
    programs: Programs, data: bytes, suffix: str, kind: str, seconds: float
) -> bytes | None:
    """The bytes of a document as another kind, or None where LibreOffice cannot read them.

    The profile is new and empty, so no extension is there: what comes out is what somebody without
    the add-in sees.
    """
    with scratch.scratch() as folder:
        source = folder / f"in{suffix}"
        source.write_bytes(data)
        quiet_profile.write(folder / "profile")
        target = convert(
            programs, source, kind, folder / "out", folder / "profile", home=folder, seconds=seconds
        )
        return target.read_bytes() if target.exists() else None
