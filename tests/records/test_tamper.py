"""Whatever is changed behind the program's back is found by verify, and named."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from app.actions.act import PROGRAM, acting
from app.records.look_back import day_seal
from app.records.store import trail
from app.records.store.check import check_folder, short_head
from app.records.store.head import HEAD
from app.records.store.house import DATABASE, KEYS, open_house
from app.records.store.sealing import KeyRing, MasterKey
from app.records.tables.days import DayRow
from app.records.tables.house import SiteRow, TrailRow
from app.settings.config import Settings
from tests.web_ready import kept_ready, reopened
from tests.web_world import DAY

# A change of one row of each table that tells of the dive, and what names it.
CHANGES = [
    ("UPDATE trail SET who = who || 'x' WHERE id = 9", "Trail entry 9"),
    ("UPDATE trail SET at = replace(at, '2026', '2025') WHERE id = 12", "Trail entry 12"),
    ("UPDATE trail SET changes = changes || ' ' WHERE id = 1", "Trail entry 1"),
    ("UPDATE trail SET reason = 'x' WHERE id = 20", "Trail entry 20"),
    ("DELETE FROM trail WHERE id = 15", "Trail entry 15 is missing"),
    ("UPDATE trail SET id = 9000 WHERE id = 7", "Trail entry 7"),
    ("UPDATE dive_group SET greatest_depth_m = 7.6 WHERE id = 1", "Record 1 of dive_group: greatest_depth_m"),
    ("UPDATE dive_group SET happened = 'nothinG' WHERE id = 1", "Record 1 of dive_group: happened"),
    ("UPDATE dive_group SET closed_by = '' WHERE id = 1", "Record 1 of dive_group: closed_by"),
    ("UPDATE member SET part = 'assistant' WHERE id = 2", "Record 2 of member: part"),
    ("UPDATE pressure SET bar = 101 WHERE id = 4", "Record 4 of pressure: bar"),
    ("UPDATE pressure SET correction = 'x' WHERE id = 1", "Record 1 of pressure: no entry"),
    ("UPDATE head_count SET counted = 2 WHERE id = 1", "Record 1 of head_count: counted"),
    ("UPDATE water_event SET event = 'in' WHERE id = 4", "Record 4 of water_event: event"),
    ("UPDATE water_event SET happened_at = datetime(happened_at, '-1 minute') WHERE id = 4", "happened_at"),
    ("UPDATE plan SET limits = replace(limits, '10', '12')", "Record 1 of plan: limits"),
    ("UPDATE plan SET answer = answer || ' '", "Record 1 of plan: answer"),
    ("UPDATE skill SET outcome = 'refused' WHERE id = 5", "Record 5 of skill: outcome"),
    ("UPDATE briefing SET by = 'Somebody' WHERE id = 2", "Record 2 of briefing: by"),
    ("UPDATE emergency_check SET oxygen_bar = oxygen_bar + 1", "Record 1 of emergency_check: oxygen_bar"),
    ("UPDATE conditions SET grade = 'fair' WHERE id = 1", "Record 1 of conditions: grade"),
    ("UPDATE day SET closed_by = 'Somebody'", "Record 1 of day: closed_by"),
    ("UPDATE day_seal SET seal = replace(seal, substr(seal, 1, 2), 'zz')", "Record 1 of day_seal: seal"),
    ("UPDATE guest SET birth_date = '2001-01-01' WHERE id = 1", "Record 1 of guest: birth_date"),
    ("UPDATE person SET roles = roles || ' manager' WHERE name = 'Dora Desk'", "of person: roles"),
    ("UPDATE shop SET preset = 'x'", "Record 1 of shop"),
    ("DELETE FROM water_event WHERE id = 2", "Record 2 of water_event is gone"),
    ("DELETE FROM pressure WHERE id = 6", "Record 6 of pressure is gone"),
    ("DELETE FROM day_seal", "Record 1 of day_seal is gone"),
    ("INSERT INTO drill (held_on, what, by, at) VALUES ('2026-07-15', 'x', 'x', '2026-07-15 09:00:00')",
     "of drill was added"),
    ("INSERT INTO head_count SELECT 900, group_id, way, method, counted, expected, agrees, counter_id, "
     "counter, at FROM head_count WHERE id = 1", "Record 900 of head_count was added"),
]  # fmt: skip


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a shop that dived, closed its day and was closed."""
    place = tmp_path_factory.mktemp("tamper")
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)
        ready = reopened(kept_ready(place / "kept"), place)
        ready.whole_dive()
        with ready.world.act("close_day") as act:
            act.add(DayRow(day=DAY, closed_at=act.now, closed_by="Mona Manager"))
            act.add(day_seal.make_seal(act.session, act.house.master, DAY, act.now))
        ready.world.house.close()
    return place / "data"


@pytest.fixture
def folder(closed: Path, tmp_path: Path) -> Path:
    shutil.copytree(closed, tmp_path / "data")
    return tmp_path / "data"


def wrong(folder: Path, head: str | None = None) -> str | None:
    return check_folder(Settings(data=folder), head)[0]


def raw(folder: Path, *statements: str) -> None:
    with closing(sqlite3.connect(folder / DATABASE)) as file:
        file.execute("PRAGMA foreign_keys=OFF")
        for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            file.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert file.execute(statement).rowcount != 0, statement
        file.commit()


def test_an_untouched_folder_is_whole_and_verify_touches_nothing(folder: Path) -> None:
    before = (folder / DATABASE).read_bytes()
    found, said = check_folder(Settings(data=folder))
    assert found is None and "1 closed days are as they were sealed" in said
    assert (folder / DATABASE).read_bytes() == before


@pytest.mark.parametrize(("statement", "names"), CHANGES)
def test_one_change_of_one_row_is_found_and_named(folder: Path, statement: str, names: str) -> None:
    raw(folder, statement)
    assert names in (wrong(folder) or "")


# What verify cannot tell: counters, sign-ins and used keys lie outside the trail, what is found by search is
# an index, and the content of secret columns rests on its own sealing and on the pepper of the passphrases.
OUTSIDE = {"alembic_version", "used_key", "visit", "search_entry"}
SECRET = {
    "consent.signed_name", "health_form.answers", "health_form.signature", "person.passphrase_hash",
    "shore_look.points",
}  # fmt: skip
CHANGED = (
    'CASE WHEN "{0}" IS NULL THEN 1 WHEN typeof("{0}") IN (\'integer\', \'real\') THEN 1 - "{0}" '
    "ELSE \"{0}\" || 'x' END"
)


def tables_of(folder: Path) -> dict[str, list[str]]:
    """Return the columns of every table that holds anything of the closed day, its own key left out."""
    with closing(sqlite3.connect(folder / DATABASE)) as file:
        names = [name for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        filled = [one for one in names if file.execute(f'SELECT count(*) FROM "{one}"').fetchone()[0]]
        found = {one: [row[1] for row in file.execute(f'PRAGMA table_info("{one}")')] for one in filled}
    return {one: [name for name in columns if name != "id"] for one, columns in found.items()}


def put_back(folder: Path, whole: bytes) -> None:
    """Make the database what it was."""
    for beside in folder.glob(f"{DATABASE}-*"):
        beside.unlink()
    (folder / DATABASE).write_bytes(whole)


def test_a_row_taken_out_of_any_table_of_a_closed_day_is_named(folder: Path) -> None:
    whole = (folder / DATABASE).read_bytes()
    tables = set(tables_of(folder)) - OUTSIDE
    assert len(tables) > 25 and {"plan", "pressure", "day_seal", "guest"} <= tables
    for table in tables - {"trail"}:
        put_back(folder, whole)
        with closing(sqlite3.connect(folder / DATABASE)) as file:
            newest_row = file.execute(f'SELECT max(id) FROM "{table}"').fetchone()[0]
        raw(folder, f'DELETE FROM "{table}" WHERE id = {newest_row}')
        assert f"Record {newest_row} of {table} is gone" in (wrong(folder) or ""), table


def test_a_value_changed_in_any_column_of_any_table_is_found(folder: Path) -> None:
    whole, passed_over = (folder / DATABASE).read_bytes(), set()
    for table, columns in tables_of(folder).items():
        for column in columns if table not in OUTSIDE else ():
            put_back(folder, whole)
            try:
                raw(folder, f'UPDATE "{table}" SET "{column}" = {CHANGED.format(column)} WHERE id = 1')
            except sqlite3.IntegrityError:
                continue
            if wrong(folder) is None:
                passed_over.add(f"{table}.{column}")
    assert {one for one in passed_over if not one.endswith(".version")} == SECRET


def test_a_value_that_is_none_of_its_column_is_named(folder: Path) -> None:
    raw(folder, "UPDATE cylinder SET last_visual = 7 WHERE id = 2")
    assert wrong(folder) == "Record 2 of cylinder cannot be read: a value is not of its kind."


@pytest.mark.parametrize("table", ["pressure", "water_event", "head_count", "trail", "skill", "member"])
def test_two_rows_swapped_are_found(folder: Path, table: str) -> None:
    columns = "changes, who" if table == "trail" else {
        "pressure": "member_id, bar", "water_event": "member_id", "head_count": "way, counted",
        "skill": "guest_id, skill", "member": "guest_id, person_id, part",
    }[table]  # fmt: skip
    with closing(sqlite3.connect(folder / DATABASE)) as file:
        one, two = file.execute(
            f"SELECT a.id, b.id FROM {table} a JOIN {table} b ON a.id < b.id "
            f"WHERE ({', '.join('a.' + one.strip() for one in columns.split(','))}) IS NOT "
            f"({', '.join('b.' + one.strip() for one in columns.split(','))}) LIMIT 1"
        ).fetchone()
    raw(
        folder,
        f"UPDATE {table} SET id = -1 WHERE id = {one}",
        f"UPDATE {table} SET id = {one} WHERE id = {two}",
        f"UPDATE {table} SET id = {two} WHERE id = -1",
    )
    said = wrong(folder) or ""
    assert (f"entry {one}" if table == "trail" else f"Record {one} of {table}") in said


def newest(folder: Path) -> int:
    with closing(sqlite3.connect(folder / DATABASE)) as file:
        return int(file.execute("SELECT max(id) FROM trail").fetchone()[0])


@pytest.mark.parametrize("entries", [1, 5])
def test_a_cut_tail_is_found_by_the_note_and_without_it_by_the_records(folder: Path, entries: int) -> None:
    last = newest(folder)
    raw(folder, f"DELETE FROM trail WHERE id > {last - entries}")
    assert f"knows trail entry {last}" in (wrong(folder) or "")
    (folder / HEAD).unlink()
    assert "cannot be vouched for" in (wrong(folder) or "")


def test_a_chain_rebuilt_without_the_key_is_found_at_its_first_entry(folder: Path) -> None:
    with closing(sqlite3.connect(folder / DATABASE)) as file:
        rows = file.execute("SELECT * FROM trail ORDER BY id").fetchall()
        names = [one[1] for one in file.execute("PRAGMA table_info(trail)")]
    before, statements = trail.FIRST, []
    for row in rows:
        entry = TrailRow(**dict(zip(names, row, strict=True)))
        if entry.id == 10:
            entry.who = "Somebody"
        before = trail.link_of(b"not the key", before, entry)
        statements.append(f"UPDATE trail SET chain = '{before}', who = '{entry.who}' WHERE id = {entry.id}")
    raw(folder, *statements)
    assert "Trail entry 1 " in (wrong(folder) or "")


def test_an_older_file_put_back_is_found_by_the_note_and_by_a_day_sheet(closed: Path, folder: Path) -> None:
    older = (folder / DATABASE).read_bytes()
    house = open_house(Settings(data=folder))
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name="Later"))
    with house.store.reading() as session:
        code = short_head(*trail.head(session))
    house.close()
    assert wrong(folder, code) is None
    (folder / DATABASE).write_bytes(older)
    assert "older copy was put back" in (wrong(folder) or "")
    # A whole older folder agrees with itself; only the sheet of paper tells.
    assert wrong(closed) is None and "older copy" in (wrong(closed, code) or "")


def test_a_sealed_value_swapped_between_guests_is_found_and_an_erased_one_is_passed_over(
    folder: Path,
) -> None:
    ring = KeyRing(folder / KEYS, MasterKey(folder / "secret.key"))
    with closing(sqlite3.connect(folder / DATABASE)) as file:
        ref = file.execute("SELECT ref FROM guest WHERE id = 1").fetchone()[0]
    ring.destroy(f"guest:{ref}")
    ring.close()
    assert wrong(folder) is None
    raw(folder, "UPDATE guest SET birth_date = '2001-01-01' WHERE id = 2")
    assert "Record 2 of guest: birth_date" in (wrong(folder) or "")


def test_bytes_of_the_file_changed_at_random_are_found(folder: Path) -> None:
    content = (folder / DATABASE).read_bytes()
    for part in range(1, 12):
        place = len(content) * part // 12
        changed = bytearray(content)
        changed[place : place + 16] = bytes(255 - one for one in content[place : place + 16])
        (folder / DATABASE).write_bytes(changed)
        for beside in folder.glob(f"{DATABASE}-*"):
            beside.unlink()
        assert wrong(folder) is not None or not any(content[place : place + 16]), place
