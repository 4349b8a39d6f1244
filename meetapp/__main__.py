"""`python -m meetapp` does what `meetapp` does."""

import sys

from meetapp.cli import main

sys.exit(main())
