"""``python -m workbook_template.cli``."""

import sys

from workbook_template.cli.main import main

sys.exit(main())
