"""These tests run through ``cluster.py`` alone, which starts the server that they need."""

import os

collect_ignore_glob = [] if "DAYBUOY_TEST_DATABASE_URL" in os.environ else ["test_*.py"]
