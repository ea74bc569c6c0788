"""Pages of letters: told by what they hold, never by a name; PDFs kept as they came, pictures anew."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.scans import MOST_BYTES, PDF, NotAScan, clean_scan
from tests.picture_bytes import exif, jpeg, png


def pdf(body: bytes = b"1 0 obj\n<<>>\nendobj\n", version: bytes = b"1.7", behind: bytes = b"\n") -> bytes:
    """Return the frame of a PDF around some content."""
    head = b"%PDF-" + version + b"\n" + body
    return head + b"xref\n0 1\ntrailer\n<<>>\nstartxref\n%d\n%%%%EOF" % len(head) + behind


def test_a_whole_pdf_is_kept_as_it_came() -> None:
    data = pdf(b"1 0 obj\n<</JS (app.alert)>>\nendobj\n")

    assert clean_scan(data).data == data
    assert clean_scan(data).content_type == PDF
    assert clean_scan(pdf(version=b"2.0")).content_type == PDF


@pytest.mark.parametrize(
    "data",
    [
        b"%PDF-1.7\n",
        pdf()[:-8],
        pdf(behind=b"\n<script>alert(1)</script>"),
        pdf(version=b"9.9"),
        b"<html>" + pdf(),
        b"\n" + pdf(),
        pdf().replace(b"startxref\n", b"startxref\n9"),
        pdf().replace(b"xref\n0 1", b"yref\n0 1"),
        b"",
        b"GIF89a" + bytes(40),
        b"MZ" + bytes(200),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    ],
    ids=range(12),
)
def test_what_is_cut_off_hidden_behind_something_or_another_kind_is_refused(data: bytes) -> None:
    with pytest.raises(NotAScan) as problem:
        clean_scan(data)

    assert str(problem.value).endswith(".")


def test_pictures_lose_what_does_not_show_them() -> None:
    kept = clean_scan(jpeg(40, 30, exif(b"Long Jetty, 3 July"), behind=b"hidden"))

    assert kept.content_type == "image/jpeg"
    assert b"Long Jetty" not in kept.data and b"hidden" not in kept.data
    assert clean_scan(png(4, 4)).content_type == "image/png"


def test_sizes() -> None:
    with pytest.raises(NotAScan, match="At most 10 MiB"):
        clean_scan(pdf(bytes(MOST_BYTES)))
    assert clean_scan(pdf(b"x" * (5 * 1024 * 1024))).content_type == PDF
    with pytest.raises(NotAScan, match="pixels"):
        clean_scan(jpeg(7000, 6000))


@given(st.binary(max_size=400) | st.binary(max_size=200).map(lambda some: pdf()[:60] + some))
def test_no_bytes_break_it(data: bytes) -> None:
    try:
        assert clean_scan(data).data
    except NotAScan as problem:
        assert str(problem)
