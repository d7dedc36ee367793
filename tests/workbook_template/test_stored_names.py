"""Names of functions in the formulas of .xlsx files."""

import zipfile

import pytest

from udfs.hosts.calc.extension import stored_name
from workbook_template.travel.stored_names import plain, rename, renamed_formula

LONG = "ORG.SPARGESHEET.FUNCTIONS.HARDNESS"


@pytest.mark.parametrize(
    "formula, expected, calls",
    [
        ("HARDNESS(A1,2)", f"{LONG}(A1,2)", 1),
        ("hardness (A1,2)", f"{LONG} (A1,2)", 1),
        ("1+HARDNESS(HARDNESS(A1,2),2)", f"1+{LONG}({LONG}(A1,2),2)", 2),
        ("[1]!HARDNESS(A1,2)", f"{LONG}(A1,2)", 1),
        (r"'C:\add ins\it''s.xlam'!HARDNESS(A1,2)", f"{LONG}(A1,2)", 1),
        ("'my-addin.xlam'!HARDNESS(A1,2)", f"{LONG}(A1,2)", 1),
        ("'HARDNESS'(A1,2)", f"{LONG}(A1,2)", 1),
        ("org.spargesheet.functions.hardness(A1,2)", f"{LONG}(A1,2)", 1),
        (
            "_xll.HARDNESS(1,2)+_xludf.HARDNESS(1,2)+_xldudf_HARDNESS(1,2)",
            "+".join([f"{LONG}(1,2)"] * 3),
            3,
        ),
        ("_xlfn._xludf.HARDNESS(1,2)", f"{LONG}(1,2)", 1),
        (
            'IF(A1="HARDNESS(","say ""HARDNESS(1)""",HARDNESS(1,2))',
            f'IF(A1="HARDNESS(","say ""HARDNESS(1)""",{LONG}(1,2))',
            1,
        ),
        ("'HARDNESS(1)'!A1+HARDNESS(1,2)", f"'HARDNESS(1)'!A1+{LONG}(1,2)", 1),
        ("MY_HARDNESS(1)+HARDNESS_2(1)+X.HARDNESS(1)+HARDNESS+SUM(A1)", None, 0),
        ("OTHER.HARDNESS(1)+ORG.EXAMPLE.FUNCTIONS.HARDNESS(1)", None, 0),
    ],
)
def test_calls_and_only_calls_are_renamed(formula, expected, calls):
    assert renamed_formula(formula, stored_name) == (expected or formula, calls)


def test_calcs_names_come_back_in_any_case():
    assert renamed_formula(f"1+{LONG}(1,2)+{LONG.lower()}(1,2)", plain) == (
        "1+HARDNESS(1,2)+HARDNESS(1,2)",
        2,
    )
    assert renamed_formula("hardness(1,2)", plain) == ("HARDNESS(1,2)", 1)


def test_every_other_byte_stays(tmp_path):
    sheet = (
        "<worksheet><sheetData><c><f>A1&lt;HARDNESS(1,&quot;a&quot;)</f><v>2</v></c><c><f"
        ' t="shared" si="0"/></c>'
        '<c><f>SUM(1,&quot;x&quot;)</f></c><c><f t="array" ref="A1:A2">hardness(1)</f></c>'
        '<c t="inlineStr"><is><t>HARDNESS(1)</t></is></c></sheetData>'
        "<dataValidation><formula1>HARDNESS(1,2)</formula1></dataValidation>"
        "<ext><xm:f>HARDNESS(1,2)</xm:f></ext></worksheet>"
    )
    book = (
        '<workbook><definedNames><definedName name="ORG.SPARGESHEET.FUNCTIONS.HARDNESS"'
        ' function="true" vbProcedure="true"></definedName></definedNames></workbook>'
    )
    source, target = tmp_path / "in.xlsx", tmp_path / "out.xlsx"
    with zipfile.ZipFile(source, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/worksheets/sheet1.xml", sheet)
        archive.writestr("xl/workbook.xml", book)
        archive.writestr("xl/sharedStrings.xml", "HARDNESS(1)")
    assert rename(source, target, stored_name) == 4
    with zipfile.ZipFile(target) as archive:
        expected = (
            sheet.replace("A1&lt;HARDNESS(1,&quot;a&quot;)", f'A1&lt;{LONG}(1,"a")')
            .replace(">hardness", f">{LONG}")
            .replace("<formula1>HARDNESS", f"<formula1>{LONG}")
            .replace("<xm:f>HARDNESS", f"<xm:f>{LONG}")
        )
        assert archive.read("xl/worksheets/sheet1.xml").decode() == expected
        assert archive.read("xl/workbook.xml") == b"<workbook></workbook>"
        assert archive.read("xl/sharedStrings.xml") == b"HARDNESS(1)"
