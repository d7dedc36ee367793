"""Formulas typed as a user in Germany types them."""

import pytest

from udfs import call
from udfs.hosts.calc.office import with_extension


def test_decimal_commas_and_semicolons(libreoffice):
    with with_extension(str(libreoffice.folder), locale="de-DE") as calc:
        calc.ask("new")
        calc.ask("type", 0, "A1", "1,5")
        calc.ask("type", 0, "A2", "=HARDNESS(A1;2,25)")
        calc.ask("type", 0, "A3", '=ACID_DOSE(150,5;7,6;5,7;100;"lactic";88)')
        calc.ask("type", 0, "A4", '=HARDNESS("1.5";2)')
        calc.ask("type", 0, "A5", '=HARDNESS("1,5";2)')
        value, hardness, dose, point, comma = (row[0] for row in calc.ask("cells", 0, "A1:A5"))
        assert value == 1.5
        assert hardness == pytest.approx(call("HARDNESS", 1.5, 2.25), rel=1e-9)
        assert dose == pytest.approx(
            call("ACID_DOSE", 150.5, 7.6, 5.7, 100.0, "lactic", 88.0), rel=1e-9
        )
        assert calc.ask("shown", 0, "A2") == [
            "=HARDNESS(A1;2,25)",
            f"{hardness:.13f}".rstrip("0").replace(".", ","),
        ]
        assert (point, comma) == (call("HARDNESS", "1.5", 2.0), call("HARDNESS", "1,5", 2.0))
        assert point.startswith("Check calcium") and comma.startswith("Check calcium")
