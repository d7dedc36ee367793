from tests.calc_office import calc, libreoffice, sheet  # noqa: F401  (fixtures)
from tests.udfs.hosts.calc.component_alone import component  # noqa: F401
