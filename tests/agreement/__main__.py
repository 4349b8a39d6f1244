"""Say in what the journal and the tables of a club don't agree: `python -m tests.agreement URL`."""

import sys

from tests.agreement import disagreements

found = disagreements(sys.argv[1])
print("\n".join(found) or "The journal and the tables agree.")
sys.exit(bool(found))
