"""The LibreOffice extension, made from the catalogue: types, names and help, settings and the
component.
"""

from __future__ import annotations

import json
import sys
import zipfile
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import chemcore
from chemcore import __version__
from udfs.catalogue import CATALOGUE, Function
from udfs.hosts.calc.answers import argument_names

IDENTIFIER = "org.spargesheet.calc"
SERVICE = "org.spargesheet.Functions"
HERE = Path(__file__).parent

_MANIFEST = """<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">
 <manifest:file-entry manifest:full-path="types.idl"
  manifest:media-type="application/vnd.sun.star.uno-typelibrary;type=RDB"/>
 <manifest:file-entry manifest:full-path="component.py"
  manifest:media-type="application/vnd.sun.star.uno-component;type=Python"/>
 <manifest:file-entry manifest:full-path="CalcAddIns.xcu"
  manifest:media-type="application/vnd.sun.star.configuration-data"/>
</manifest:manifest>
"""


def build(path: Path | str, python: str = sys.executable) -> None:
    """Write the extension into ``path``, for the Python that has this package."""
    parts = {
        "META-INF/manifest.xml": _MANIFEST,
        "description.xml": _description(),
        "types.idl": _types(),
        "CalcAddIns.xcu": _configuration(),
        "settings.json": json.dumps(settings(python), indent=1, ensure_ascii=False),
        "component.py": (HERE / "component.py").read_text(encoding="utf-8"),
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)


def settings(python: str) -> dict[str, Any]:
    """What the component and the worker read."""
    return {
        "version": __version__,
        "service": SERVICE,
        "python": python,
        "worker": str(HERE / "worker.py"),
        "seconds to start": 30,
        "seconds to answer": 30,
        "seconds to pause": 5,
        "package": chemcore.__file__,
        "not kept": ["ADDIN_STATUS"],
        "functions": {name: argument_names(name) for name in CATALOGUE},
    }


def stored_name(name: str) -> str:
    """The name that Calc writes into files in place of a function's own."""
    return f"{SERVICE}.{name}".upper()


def _description() -> str:
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<description xmlns="http://openoffice.org/extensions/description/2006">
 <identifier value="{IDENTIFIER}"/>
 <version value="{__version__}"/>
 <display-name><name lang="en">Spargesheet</name></display-name>
</description>
"""


def _types() -> str:
    """The functions as UNO types, in the text form that LibreOffice reads; small letters with ``_``
    are not allowed there.

    An argument of type ``any`` may be left out. An answer must be rows of cells for array formulas
    to work; a plain formula shows the first.
    """
    methods = "\n".join(
        "  sequence< sequence<any> >"
        f" {entry.name}({', '.join(f'[in] any {a.name.upper()}' for a in entry.arguments)});"
        for entry in CATALOGUE.values()
    )
    module, service = SERVICE.rsplit(".", 1)
    opening = " ".join(f"module {name} {{" for name in module.split("."))
    closing = " ".join("};" for _ in module.split("."))
    return f"""{opening}
interface XFunctions : com::sun::star::uno::XInterface {{
{methods}
}};
service {service} : XFunctions;
{closing}
"""


def _configuration() -> str:
    """Names and help of functions and arguments, for the function wizard."""
    nodes = "\n".join(_function_node(entry) for entry in CATALOGUE.values())
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<oor:component-data xmlns:oor="http://openoffice.org/2001/registry" oor:name="CalcAddIns"
 oor:package="org.openoffice.Office">
 <node oor:name="AddInInfo">
  <node oor:name="{SERVICE}" oor:op="replace">
   <node oor:name="AddInFunctions">
{nodes}
   </node>
  </node>
 </node>
</oor:component-data>
"""


def _function_node(entry: Function) -> str:
    arguments = "\n".join(
        f"""      <node oor:name="{argument.name.upper()}" oor:op="replace">
       {_text("DisplayName", argument.name)}
       {_text("Description", argument.help)}
      </node>"""
        for argument in entry.arguments
    )
    return f"""    <node oor:name="{entry.name}" oor:op="replace">
     {_text("DisplayName", entry.name)}
     {_text("CompatibilityName", entry.name)}
     {_text("Description", wizard_text(entry))}
     <prop oor:name="Category"><value>Add-In</value></prop>
     <node oor:name="Parameters">
{arguments}
     </node>
    </node>"""


def wizard_text(entry: Function) -> str:
    """What the wizard says of a function; Calc has no categories for add-ins to name, so the text
    ends with ours.
    """
    return f"{entry.description} Spargesheet: {entry.category}."


def _text(name: str, text: str) -> str:
    return f'<prop oor:name="{name}"><value xml:lang="en">{escape(text)}</value></prop>'
