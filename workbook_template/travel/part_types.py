"""Kinds of part that a workbook may hold, and what becomes of each in a copy for others.

By the last word of the relationship's type: ECMA-376 part 1 (clauses 12.3, 14.2, 15.2), [MS-XLSX] 2.1 and
[MS-OFFMACRO2] 2.2, from memory. What is not in this table does not travel.
"""

from __future__ import annotations

#: Namespaces in which the relationship types of these standards lie.
NAMESPACES = (
    "http://schemas.openxmlformats.org/",
    "http://schemas.microsoft.com/",
)

#: Kinds that travel, cleaned where they hold names, folders or secrets.
KEPT = frozenset(
    """officeDocument worksheet chartsheet dialogsheet styles theme sharedStrings calcChain sheetMetadata
    externalLink externalLinkPath xlPathMissing xlStartup xlAlternateStartup xlLibrary table queryTable
    connections drawing vmlDrawing chart chartEx chartUserShapes chartStyle chartColorStyle themeOverride
    image hyperlink comments threadedComment person pivotTable pivotCacheDefinition pivotCacheRecords
    slicer slicerCache timeline timelineCache tableSingleCells diagramData diagramLayout
    diagramQuickStyle diagramColors diagramDrawing core-properties extended-properties
    custom-properties rdRichValue rdRichValueStructure rdRichValueTypes rdArray richStyles
    rdSupportingPropertyBag rdSupportingPropertyBagStructure richValueRel
    FeaturePropertyBag""".split()
)

#: Kinds that do not travel, with what they are in words.
DROPPED = {
    "printerSettings": "printer settings",
    "vbaProject": "macros",
    "vbaProjectSignature": "the signature of macros",
    "revisionHeaders": "the record of changes, with old values and names",
    "revisionLog": "the record of changes, with old values and names",
    "usernames": "names of people who had the book open",
    "customXml": "custom XML data (Power Query and document management keep theirs there)",
    "customXmlProps": "custom XML data",
    "customProperty": "custom data of a sheet",
    "thumbnail": "a picture of the first page",
    "classificationlabels": "a sensitivity label",
    "oleObject": "an embedded object",
    "package": "an embedded document",
    "control": "an ActiveX control",
    "activeXControlBinary": "an ActiveX control",
    "ctrlProp": "a form control",
    "powerPivotData": "a data model",
    "xmlMaps": "XML maps",
    "attachedToolbars": "toolbars",
    "volatileDependencies": "links to live data",
}
