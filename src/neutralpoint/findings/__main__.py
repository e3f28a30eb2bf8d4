"""Print the schema: `python -m neutralpoint.findings > docs/reference/findings-schema.json`."""

import sys

from neutralpoint.findings.file import schema_text

sys.stdout.write(schema_text())
