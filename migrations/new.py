"""Write a new migration from the difference between the models and the migrations so far.

python migrations/new.py "what it gives"
"""

import sys
import tempfile
from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory

from app.records import tables
from app.records.db import make_engine, sqlite_url
from app.records.migrate import config_for, to_newest

assert tables

if __name__ == "__main__":
    if not "".join(sys.argv[1:]).strip():
        sys.exit('Say what it gives: make migration NAME="what it gives"')
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(sqlite_url(Path(folder) / "empty.sqlite3"))
        to_newest(engine)
        config = config_for(engine)
        number = len(list(ScriptDirectory.from_config(config).walk_revisions())) + 1
        command.revision(config, message=sys.argv[1], autogenerate=True, rev_id=f"{number:04d}")
        engine.dispose()
