"""Kinds of part that a workbook may hold, and what becomes of each in a copy for others.

By the last word of the relationship's type: ECMA-376 part 1 (clauses 12.3, 14.2, 15.2), [MS-XLSX]
2.1 and [MS-OFFMACRO2] 2.2, from memory. Each kind stands in one of the tables; what is in none does
not travel.
"""

from __future__ import annotations

#: Namespaces in which the relationship types of these standards lie.
NAMESPACES = (
    "http://schemas.openxmlformats.org/",
    "http://schemas.microsoft.com/",
)

#: Kinds that travel as they are: figures, looks and layout, which the recipient is meant to see.
KEPT = frozenset(
    """
    styles theme themeOverride sharedStrings calcChain sheetMetadata chartUserShapes chartStyle
    chartColorStyle pivotTable pivotCacheRecords slicer slicerCache timeline timelineCache
    diagramLayout diagramQuickStyle diagramColors rdRichValue rdRichValueStructure rdRichValueTypes
    rdArray richStyles rdSupportingPropertyBag rdSupportingPropertyBagStructure richValueRel
    FeaturePropertyBag
""".split()
)

#: Kinds that travel because the recipient sees or needs them, with what is taken out of them.
CLEANED = {
    "officeDocument": (
        "the book's folder, document ids, people's views, who reserved it, publishing"
    ),
    "worksheet": (
        "scenarios' and ranges' users, people's views, publishing, folders in headers and links"
    ),
    "chartsheet": "people's views, publishing, folders in headers",
    "dialogsheet": "people's views, folders in headers",
    "drawing": "folders in descriptions, names of macros, linked pictures",
    "vmlDrawing": "folders in descriptions, names of macros, linked pictures",
    "chart": "the workbook that a pasted chart came from, folders in headers",
    "chartEx": "the workbook that a pasted chart came from, folders in headers",
    "diagramData": "folders in descriptions",
    "diagramDrawing": "folders in descriptions",
    "image": "notes, places and makers that cameras and programs write beside the image",
    "hdphoto": "nothing: the picture is named for the sender to look at",
    "hyperlink": "folders, and names and passwords of users",
    "comments": "the authors",
    "threadedComment": "the people who are mentioned",
    "person": "names and accounts; the person stays as 'author'",
    "ctrlProp": "nothing but the names of macros: the recipient sees and uses the control",
    "table": "the binding to XML maps",
    "queryTable": "nothing: its name belongs to the cells that it fills, and is told",
    "connections": (
        "servers, files, queries and passwords; pivot tables and query tables need the number"
    ),
    "pivotCacheDefinition": "who refreshed it, and the path of a source elsewhere",
    "core-properties": "author, last editor, keywords and what document systems file by",
    "extended-properties": "company, manager, template and the list of links",
    "custom-properties": "every property but our own",
    "externalLink": "only with links kept: then the path is meant to stay",
    "externalLinkPath": "only with links kept: then the path is meant to stay",
    "xlPathMissing": "only with links kept: then the path is meant to stay",
    "xlStartup": "only with links kept: then the path is meant to stay",
    "xlAlternateStartup": "only with links kept: then the path is meant to stay",
    "xlLibrary": "only with links kept: then the path is meant to stay",
}

#: Kinds that do not travel, with what they are in words.
DROPPED = {
    "printerSettings": "printer settings",
    "vbaProject": "macros",
    "vbaProjectSignature": "the signature of macros",
    "vbaProjectSignatureAgile": "the signature of macros",
    "vbaProjectSignatureV3": "the signature of macros",
    "wordVbaData": "macros",
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
    "xmlMaps": "XML maps",
    "tableSingleCells": "cells bound to XML maps",
    "attachedToolbars": "toolbars",
    "extensibility": "a ribbon of the book's own",
    "volatileDependencies": "links to live data",
    "documenttask": "tasks given to people",
    "namedSheetView": "people's views of a sheet",
    "webextensiontaskpanes": "an add-in from the web",
    "webextension": "an add-in from the web",
    "audio": "sound",
    "video": "a film",
    "media": "sound or a film",
}

#: Kinds without which the rest would be damaged, and which must not travel: the book is refused.
REFUSED = {
    "powerPivotData": (
        "a data model (Power Pivot), which holds whole tables of its sources; take it out, or share"
        " the pivot tables as values"
    ),
    "rdRichValueWebImage": "pictures from the web in cells; put the pictures themselves there",
}
