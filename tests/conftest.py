"""How properties are tried: the same examples at every run in the checks, new ones at a developer's desk."""

import os

from hypothesis import settings

# A shared two-core machine says nothing about the speed of one example, so none has a deadline.
settings.register_profile("ci", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("desk", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
