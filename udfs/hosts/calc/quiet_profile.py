"""A LibreOffice profile for documents of anybody's: nothing is fetched, updated or run when one is
opened.

The settings are those of LibreOffice's own schemas (officecfg: Office.Calc, Office.Common, Inet).
Links are never updated, macros never run, and whatever wants the network all the same is sent to a
proxy on a port where nothing listens. Our own extension is no macro and works.
"""

from __future__ import annotations

from pathlib import Path

_FILE = "registrymodifications.xcu"
#: Path, name, value; port 9 is "discard" (RFC 863), on which no proxy listens.
_SETTINGS = (
    ("/org.openoffice.Office.Calc/Content/Update", "Link", "2"),
    ("/org.openoffice.Office.Writer/Content/Update", "Link", "0"),
    ("/org.openoffice.Office.Common/Security/Scripting", "MacroSecurityLevel", "3"),
    ("/org.openoffice.Office.Common/Security/Scripting", "DisableMacrosExecution", "true"),
    ("/org.openoffice.Office.Common/Security/Scripting", "BlockUntrustedRefererLinks", "true"),
    ("/org.openoffice.Office.Common/Security/Scripting", "DisableActiveContent", "true"),
    ("/org.openoffice.Inet/Settings", "ooInetProxyType", "1"),
    ("/org.openoffice.Inet/Settings", "ooInetNoProxy", ""),
    *(
        setting
        for kind in ("HTTP", "HTTPS", "FTP")
        for setting in (
            ("/org.openoffice.Inet/Settings", f"ooInet{kind}ProxyName", "127.0.0.1"),
            ("/org.openoffice.Inet/Settings", f"ooInet{kind}ProxyPort", "9"),
        )
    ),
)


def write(profile: Path, locale: str = "en-US") -> None:
    """Make the settings of a profile that has none yet.

    Parameters
    ----------
    profile
        Folder of the profile.
    locale
        By which numbers are typed and shown, for example ``de-DE``.
    """
    user = profile / "user"
    user.mkdir(parents=True, exist_ok=True)
    if not (user / _FILE).exists():
        settings = (("/org.openoffice.Setup/L10N", "ooSetupSystemLocale", locale), *_SETTINGS)
        (user / _FILE).write_text(
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<oor:items xmlns:oor="http://openoffice.org/2001/registry">\n'
            + "".join(
                f'<item oor:path="{path}"><prop oor:name="{name}"'
                f' oor:op="fuse"><value>{value}</value></prop></item>\n'
                for path, name, value in settings
            )
            + "</oor:items>\n",
            encoding="utf-8",
        )
