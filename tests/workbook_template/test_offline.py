"""LibreOffice opens anybody's documents for us: nothing is fetched, and what is stored stays."""

import http.server
import io
import re
import threading
import zipfile

import pytest

from tests.calc_office import libreoffice  # noqa: F401  (fixture)
from tests.workbook_template import reaching_books
from tests.workbook_template.travelling import plan
from udfs.hosts.calc import convert, quiet_profile
from workbook_template.cli import main as cli
from workbook_template.cli.offline import _here, _leads_out, offline
from workbook_template.cli.opendocument import OpenDocument
from workbook_template.travel.ooxml.package import Package
from workbook_template.user_errors import BookError

BOOKS = {"xlsx": reaching_books.xlsx, "ods": reaching_books.ods}


@pytest.fixture
def listener():
    """A server on this machine, and what it was asked for."""
    asked = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def answer(self):
            asked.append(f"{self.command} {self.path}")
            self.send_response(404)
            self.end_headers()

        do_GET = do_HEAD = do_OPTIONS = do_PROPFIND = answer

        def log_message(self, *_):
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}", asked
        server.shutdown()
        thread.join()


def addresses(document: Package) -> set[str]:
    """What of a document still names the listener, by the path that it would ask for."""
    found = set()
    for name in document.names():
        text = document[name].decode("utf-8", "replace")
        for piece in text.split("http://127.0.0.1:1/")[1:]:
            found.add(re.split("[\"'&<]", piece)[0])
    return found


def test_an_xlsx_without_what_reaches_out(tmp_path):
    book = Package.read(reaching_books.xlsx(tmp_path / "b.xlsx", "http://127.0.0.1:1"))
    assert offline(book) == 3
    assert addresses(book) == {"hyperlink", "webservice"}
    assert b"<f>[1]Sheet1!A1*2</f><v>84" in book["xl/worksheets/sheet1.xml"]


def test_an_ods_without_what_reaches_out(tmp_path):
    book = OpenDocument.read(reaching_books.ods(tmp_path / "b.ods", "http://127.0.0.1:1"))
    assert offline(book) == 8
    assert addresses(book) == {"hyperlink", "webservice", "dde.ods", "book.ods"}
    assert b"vnd.sun.star.script" not in book["content.xml"]
    assert b'dde-application="soffice"' not in book["content.xml"]


@pytest.mark.parametrize(
    ("target", "here"),
    [
        ("file:///C:/books/other.xlsx", True),
        ("other.xlsx", True),
        ("../other.xlsx", True),
        ("/books/other.xlsx", True),
        (r"C:\books\other.xlsx", True),
        ("http://host/x", False),
        ("file://host/share/x.xlsx", False),
        ("file:////host/share/x.xlsx", False),
        (r"file:///\\host\share\x.xlsx", False),
        (r"\\host\share\x.xlsx", False),
        ("//host/share/x.xlsx", False),
        ("smb://host/x", False),
    ],
)
def test_only_files_of_this_machine_are_here(target, here):
    assert _here(target) is here


def test_addresses_inside_the_package():
    for href in ("Pictures/a.png", "./Object 1", "#Plan.A1", "a/../b"):
        assert not _leads_out(href, 0)
    for href in (
        "../a.png",
        "http://h/x",
        "/etc/x",
        "\\\\h\\x",
        "a/../../b",
        "vnd.sun.star.script:x",
    ):
        assert _leads_out(href, 0)
    assert not _leads_out("..", 1) and _leads_out("../../x", 1)


@pytest.mark.office
@pytest.mark.slow
@pytest.mark.parametrize("kind", BOOKS)
def test_the_profile_alone_keeps_the_office_from_the_network(libreoffice, listener, tmp_path, kind):  # noqa: F811
    """Each wall holds by itself: here the whole document, addresses and all."""
    address, asked = listener
    book = BOOKS[kind](tmp_path / f"book.{kind}", address)
    other = {"xlsx": "ods", "ods": "xlsx"}[kind]
    for target in (other, "pdf"):
        assert convert.converted(libreoffice, book.read_bytes(), book.suffix, target, 120)
    assert asked == []


@pytest.mark.office
@pytest.mark.slow
@pytest.mark.parametrize("kind", BOOKS)
def test_the_document_alone_reaches_for_nothing_at_opening(
    libreoffice,  # noqa: F811
    listener,
    tmp_path,
    monkeypatch,
    kind,  # noqa: F811
):
    """And here without the profile's settings; before, the listener hears of it, so it is one that
    can.
    """
    address, asked = listener
    book = BOOKS[kind](tmp_path / f"book.{kind}", address)
    monkeypatch.setattr(quiet_profile, "_SETTINGS", ())
    assert convert.converted(libreoffice, book.read_bytes(), book.suffix, "pdf", 120)
    assert any("picture.png" in line for line in asked)
    asked.clear()
    document = (OpenDocument if kind == "ods" else Package).read(book)
    offline(document)
    assert convert.converted(libreoffice, document.tobytes(), book.suffix, "pdf", 120)
    assert not [line for line in asked if "picture" in line or "object" in line]


@pytest.mark.office
@pytest.mark.slow
def test_no_command_fetches_anything(libreoffice, listener, tmp_path, capsys):  # noqa: F811
    address, asked = listener
    xlsx = reaching_books.xlsx(tmp_path / "a.xlsx", address)
    ods = reaching_books.ods(tmp_path / "b.ods", address)
    codes = [
        cli.main(list(map(str, arguments)))
        for arguments in (
            ("convert", xlsx, tmp_path / "a.ods"),
            ("convert", ods, tmp_path / "b.xlsx"),
            ("check", ods),
            ("share", ods, tmp_path / "c.ods", "--pdf"),
        )
    ]
    said = capsys.readouterr()
    assert asked == []
    assert codes[:2] == [0, 0], said.err
    assert "Note: 3 links to pictures, data or macros elsewhere lead nowhere now" in said.out


@pytest.mark.office
def test_the_stored_value_of_another_workbook_stays(libreoffice, tmp_path, capsys):  # noqa: F811
    xlsx = reaching_books.xlsx(tmp_path / "a.xlsx", "http://127.0.0.1:1")
    assert cli.main(["convert", str(xlsx), str(tmp_path / "a.ods")]) == 0
    with zipfile.ZipFile(tmp_path / "a.ods") as file:
        content = file.read("content.xml").decode()
    formula = content.split("#$Sheet1.A1]*2")[1].split(">")[0]
    assert 'office:value="84"' in formula
    assert "/hyperlink" in content


def bomb(cells: str) -> bytes:
    content = (
        '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"><office:body><office:spreadsheet>'
        f"<table:table>{cells}</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        file.writestr("content.xml", content)
    return out.getvalue()


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (
            (
                '<table:table-row table:number-rows-repeated="1048576"><table:table-cell'
                ' office:value-type="float" office:value="1"'
                ' table:number-columns-repeated="1024"/></table:table-row>'
            ),
            "more than 500,000 cells",
        ),
        ("<table:table-row>" + " " * 160_000_000 + "</table:table-row>", "unpacks to"),
        ("<x>" * 300 + "</x>" * 300, "nested over"),
        (
            (
                "<table:table-row"
                ' table:number-rows-repeated="many"><table:table-cell/></table:table-row>'
            ),
            "repeats a cell 'many' times",
        ),
        ("<table:table-row>", "not well-formed"),
    ],
    ids=["repeated", "zip bomb", "deep", "no number", "broken"],
)
def test_an_ods_that_asks_for_too_much_is_one_sentence(tmp_path, capsys, cells, words):
    path = tmp_path / "x.ods"
    path.write_bytes(bomb(cells))
    with pytest.raises(BookError, match="x.ods"):
        OpenDocument.read(path)
    for command in (("convert", path, tmp_path / "y.xlsx"), ("share", path), ("check", path)):
        assert cli.main(list(map(str, command))) == 2
        error = capsys.readouterr().err
        assert words in error and error.count("\n") == 1
    assert sorted(file.name for file in tmp_path.iterdir()) == ["x.ods"]


def test_an_empty_sheet_may_repeat_what_it_likes(tmp_path):
    row = (
        '<table:table-row table:number-rows-repeated="1048576">'
        '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    )
    assert OpenDocument(bomb(row), "x.ods").names()


def test_an_xlsx_bomb_is_one_sentence_in_convert(tmp_path, capsys):
    path = plan(tmp_path / "plan.xlsx", 1)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as file:
        file.writestr("xl/worksheets/sheet9.xml", b" " * 200_000_000)
    for target in ("y.ods", "y.xlsx"):
        assert cli.main(["convert", str(path), str(tmp_path / target)]) == 2
        error = capsys.readouterr().err
        assert "unpacks to" in error and error.count("\n") == 1
    assert sorted(file.name for file in tmp_path.iterdir()) == ["plan.xlsx"]
