"""How hard the property tests of this folder try: quickly by default, deeply when asked, repeatably in CI."""

import os

from hypothesis import settings

settings.register_profile("quick", max_examples=60, deadline=None)
settings.register_profile("deep", max_examples=1000, deadline=None)
settings.register_profile("ci", max_examples=60, deadline=None, derandomize=True)
settings.load_profile(os.environ.get("MEETAPP_HYPOTHESIS", "ci" if os.environ.get("CI") else "quick"))
