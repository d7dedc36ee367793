from tests.calc_office import calc, libreoffice, sheet  # noqa: F401  (fixtures)
