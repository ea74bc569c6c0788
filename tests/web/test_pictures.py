"""Files through HTTP: which routes take them, how large, what is kept of a picture, and who sees it."""

import hashlib
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlmodel import select

from app.actions.keep.pictures import keep_picture
from app.records.store.house import DATABASE
from app.records.tables.cylinders import CylinderRow
from app.records.tables.house import TrailRow
from app.records.tables.pictures import PictureRow
from app.rules.pictures import MOST_BYTES
from app.web.guard import FORM_BYTES
from tests.picture_bytes import exif, jpeg, png
from tests.web_world import BASE, Browser, World, whole_store

PLACE = b"GPS 12.345N 45.678W"
PHOTO = jpeg(640, 480, exif(PLACE, 6), behind=b"<script>alert(1)</script>")


def cylinder_of(world: World) -> str:
    with world.act() as act:
        row = act.add(CylinderRow(number="7", litres=12, working_pressure_bar=232))
    return f"/gas/cylinders/{row.id}"


def pictures_in(world: World) -> list[PictureRow]:
    with world.house.store.reading() as session:
        return list(session.exec(select(PictureRow)))


def image_of(browser: Browser, path: str) -> str:
    return browser.open(path).find("img")[0].get("src", "")


def test_a_photo_is_kept_without_its_place_and_shown_as_what_it_is(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    page = browser.open(at).send_files("add_cylinder_picture", {"photo": PHOTO})
    assert "Picture kept." in page.words()
    (image,) = page.find("img")
    assert (image.get("width"), image.get("height")) == ("480", "640")
    assert image.get("alt", "").startswith("Cylinder 7, picture of")
    answer = browser.client.get(image.get("src", ""))
    assert answer.status_code == 200 and answer.headers["content-type"] == "image/jpeg"
    assert PLACE not in answer.content and b"<script>" not in answer.content
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["content-disposition"] == "inline"
    assert "sandbox" in answer.headers["content-security-policy"]
    (row,) = pictures_in(world)
    assert row.digest == hashlib.sha256(answer.content).hexdigest() and row.size_bytes == len(answer.content)
    assert (row.by, row.about_kind) == ("Ines Instructor", "cylinder")


def test_the_trail_keeps_the_digest_and_the_store_no_open_picture(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    browser.open(at).send_files("add_cylinder_picture", {"photo": png(40, 30)})
    (row,) = pictures_in(world)
    with world.house.store.reading() as session:
        entry = session.exec(select(TrailRow).where(TrailRow.act == "add_cylinder_picture")).one()
    assert row.digest in entry.changes and "PNG" not in entry.changes
    assert (entry.record, entry.record_id) == ("cylinder", at.rpartition("/")[2])
    assert "IHDR" not in whole_store(world.house)["picture"]
    file = world.house.settings.data / DATABASE
    if file.exists():
        walled = file.with_name(f"{DATABASE}-wal")
        assert b"IHDR" not in file.read_bytes() + (walled.read_bytes() if walled.exists() else b"")


def test_the_store_refuses_to_change_a_picture(world: World) -> None:
    from sqlalchemy import text

    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    browser.open(at).send_files("add_cylinder_picture", {"photo": png(40, 30)})
    for words in ("UPDATE picture SET about_id = 99", "DELETE FROM picture"):
        with pytest.raises(Exception, match="add only"), world.house.store.engine.begin() as connection:
            connection.execute(text(words))


def test_who_sees_a_picture_goes_by_what_it_is_about(world: World) -> None:
    at = cylinder_of(world)
    browser = world.browser("Ines Instructor")
    browser.open(at).send_files("add_cylinder_picture", {"photo": png(40, 30)})
    address = image_of(browser, at)
    for name, status in (("Dora Desk", 200), ("Mona Manager", 200), ("Kim Keeper", 404)):
        assert world.browser(name).client.get(address).status_code == status, name
    assert world.browser().client.get(address, follow_redirects=False).status_code == 303
    with world.act() as act:
        secret = keep_picture(act, "not-in-the-table", 1, png(5, 5))
    assert browser.open(f"/pictures/{secret.id}").status == 404
    assert browser.open("/pictures/999").status == 404


def test_desk_sees_no_form_for_a_picture_and_cannot_send_one(world: World) -> None:
    at, desk = cylinder_of(world), world.browser("Dora Desk")
    assert not desk.open(at).forms("add_cylinder_picture")
    _, pairs = world.browser("Ines Instructor").open(at).form_fields("add_cylinder_picture")
    own = dict(desk.open("/gas/give").form_fields("sign-out")[1]) | {"key": dict(pairs)["key"]}
    assert desk.post_files(f"{at}/pictures", list(own.items()), [("photo", PHOTO)]).status == 404
    assert pictures_in(world) == []


def test_what_is_no_picture_comes_back_with_a_sentence(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    for data, words in (
        (b"", "Choose a picture."),
        (b"%PDF-1.7 not a photo", "This file is no JPEG or PNG picture."),
        (PHOTO[:120], "This picture is cut off or damaged."),
        (PHOTO + bytes(MOST_BYTES), "At most 4 MiB can be kept"),
    ):
        page = browser.open(at).send_files("add_cylinder_picture", {"photo": data})
        assert page.status == 422 and words in page.words(), words
        assert page.find("title")[0].text.startswith("Problem: ")
    assert pictures_in(world) == []
    gone = browser.open(at)
    _, pairs = gone.form_fields("add_cylinder_picture")
    assert browser.post_files("/gas/cylinders/999/pictures", pairs, [("photo", PHOTO)]).status == 404


def test_sent_twice_it_is_kept_once_and_another_file_with_the_same_key_is_refused(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    to, pairs = browser.open(at).form_fields("add_cylinder_picture")
    for data, status in ((PHOTO, 200), (PHOTO, 200), (png(5, 5), 409)):
        assert browser.post_files(to, pairs, [("photo", data)]).status == status
    assert len(pictures_in(world)) == 1


def test_j2_files_are_counted_while_they_are_read(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    to, pairs = browser.open(at).form_fields("add_cylinder_picture")
    page = browser.post_files(to, pairs, [("photo", bytes(3 * MOST_BYTES))])
    assert page.status == 413 and "A file here may hold 4 MiB." in page.words()

    def endless(head: bytes):  # type: ignore[no-untyped-def]
        yield head
        for _ in range(300):
            yield bytes(65536)

    kind = {"Content-Type": "multipart/form-data; boundary=xyz", "Origin": BASE}
    head = b'--xyz\r\nContent-Disposition: form-data; name="photo"; filename="a"\r\n\r\n'
    assert browser.client.post(to, content=endless(head), headers=kind).status_code == 413
    # The words of such a form are as short as those of every other.
    page = browser.post_files(to, [*pairs, ("more", "x" * (FORM_BYTES + 1))], [("photo", PHOTO)])
    assert page.status == 413 and "A form may hold 256 KiB." in page.words()
    page = browser.post_files(to, [*pairs, *((f"n{i}", "x" * 2000) for i in range(150))], [("photo", PHOTO)])
    assert page.status == 413 and "A form may hold 256 KiB." in page.words()
    page = browser.post_files(to, [*pairs, *((f"n{i}", "x") for i in range(250))], [("photo", PHOTO)])
    assert page.status == 413 and "200 fields" in page.words()
    assert pictures_in(world) == []


def test_e5_only_the_named_file_of_a_named_route_is_taken(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    to, pairs = browser.open(at).form_fields("add_cylinder_picture")
    for files in ([("other", PHOTO)], [("photo", PHOTO), ("photo", PHOTO)], [("photo", PHOTO), ("b", PHOTO)]):
        assert browser.post_files(to, pairs, files).status == 422, files[0][0]
    assert browser.post_files(to, [*pairs, ("stray", "x")], [("photo", PHOTO)]).status == 422
    # As text under the file's name, and as a form without any file.
    assert browser.post(to, [*pairs, ("photo", "words")]).status == 422
    assert browser.post(to, pairs).status == 422
    manager = world.browser("Mona Manager")
    other, fields = manager.open("/gas/cylinders/new").form_fields("add_cylinder")
    assert manager.post_files(other, fields, [("photo", PHOTO)]).status == 422
    assert pictures_in(world) == []


def test_j1_broken_parts_are_refused_and_never_a_fault_of_ours(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    to, pairs = browser.open(at).form_fields("add_cylinder_picture")
    part = b'--xyz\r\nContent-Disposition: form-data; name="%s"\r\n\r\n%s\r\n'
    good = b"".join(part % (name.encode(), value.encode()) for name, value in pairs)
    file = b'--xyz\r\nContent-Disposition: form-data; name="photo"; filename="a"\r\n\r\n' + PHOTO + b"\r\n"
    for kind, body in (
        ("multipart/form-data; boundary=xyz", good + file),
        ("multipart/form-data; boundary=xyz", good + file + b"--xyz"),
        ("multipart/form-data", good + file + b"--xyz--\r\n"),
        ("multipart/form-data; boundary=", good + file + b"--xyz--\r\n"),
        ("multipart/form-data; boundary=xyz", file.replace(b"form-data; name", b"form-data; nam") + good),
        ("multipart/form-data; boundary=xyz", b"nothing of the kind"),
        ("multipart/form-data; boundary=xyz", b""),
        ("multipart/form-data; boundary=xyz", good + part % (b"words", b"\xff\xfe") + b"--xyz--\r\n"),
        ("multipart/form-data; boundary=xyz; charset=utf-16", good + file + b"--xyz--\r\n"),
        ("application/json", b"{}"),
        ("", good),
    ):
        headers = {"Content-Type": kind, "Origin": BASE}
        answer = browser.client.post(to, content=body, headers=headers)
        assert answer.status_code in (413, 422, 403), (kind, body[:60], answer.status_code)
    assert pictures_in(world) == []


def test_a_forged_form_with_a_file_is_refused(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    to, pairs = browser.open(at).form_fields("add_cylinder_picture")
    bad = [(name, "0" * 32 if name == "token" else value) for name, value in pairs]
    assert browser.post_files(to, bad, [("photo", PHOTO)]).status == 403
    assert pictures_in(world) == []


def test_whatever_is_sent_as_a_picture_never_a_500(world: World) -> None:
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    to, pairs = browser.open(at).form_fields("add_cylinder_picture")
    samples = [PHOTO, png(20, 10), b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b""]

    @settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.sampled_from(samples), st.binary(max_size=60), st.integers(0, 400), st.integers(0, 400))
    def send(start: bytes, middle: bytes, cut: int, rest: int) -> None:
        key = hashlib.sha256(repr((start, middle, cut, rest)).encode()).hexdigest()[:32]
        fields = [(name, key if name == "key" else value) for name, value in pairs]
        page = browser.post_files(to, fields, [("photo", start[:cut] + middle + start[rest:])])
        assert page.status in (200, 422)

    send()


def test_no_temporary_file_is_made(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A form with a large file stays in memory: the system's folder for temporary files is for everybody."""
    import tempfile

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("something was written to the disk")

    monkeypatch.setattr(tempfile.SpooledTemporaryFile, "rollover", refuse)
    at, browser = cylinder_of(world), world.browser("Ines Instructor")
    page = browser.open(at).send_files("add_cylinder_picture", {"photo": PHOTO + bytes(3_500_000)})
    assert page.status == 200 and re.search(r"Picture kept\.", page.words())
