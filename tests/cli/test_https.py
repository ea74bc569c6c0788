"""``serve --https``: the shop's own certificate, trusted once, and the plain door that hands it out."""

import http.client
import ssl
import time
from dataclasses import dataclass
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tests.server_world import READY_SECONDS, command, form_in, make_folder, serving_https, typed
from tests.web_world import PASSPHRASE


@dataclass
class Plain:
    """What the plain door answered."""

    status: int
    headers: dict[str, str]
    body: bytes


def plain(port: int, path: str, method: str = "GET", **headers: str) -> Plain:
    """Ask the plain door."""
    began = time.perf_counter()
    while True:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        try:
            line.request(method, path, headers=headers)
            answer = line.getresponse()
            body = answer.read()
            line.close()
            return Plain(answer.status, dict(answer.headers.items()), body)
        except ConnectionRefusedError:
            assert time.perf_counter() - began < READY_SECONDS
            time.sleep(0.05)


def test_a_device_that_took_the_certificate_signs_in_over_https(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    with serving_https(folder) as (port, door):
        answer = plain(door, "/shop.crt")
        authority = answer.body
        assert answer.headers["content-type"] == "application/x-x509-ca-cert"
        trusts = ssl.create_default_context(cadata=authority)
        line = http.client.HTTPSConnection("127.0.0.1", port, context=trusts, timeout=30)
        line.request("GET", "/sign-in")
        page = line.getresponse()
        text = page.read().decode()
        jar: SimpleCookie = SimpleCookie()
        for said in page.headers.get_all("set-cookie") or ():
            jar.load(said)
        (name,) = jar
        assert name.startswith("__Host-") and jar[name]["secure"] and jar[name]["httponly"]
        to, pairs = form_in(text, "sign_in")
        body = urlencode(typed(pairs, name="Mona Manager", secret=PASSPHRASE))
        headers = {
            "Cookie": f"{name}={jar[name].value}",
            "Origin": f"https://127.0.0.1:{port}",
            "Content-Type": "application/x-www-form-urlencoded",
        }
        line.request("POST", to, body, headers)
        done = line.getresponse()
        done.read()
        assert (done.status, done.headers["location"]) == (303, "/today")
        jar.load((done.headers.get_all("set-cookie") or [""])[0])
        line.request("GET", "/setup/wifi", headers={"Cookie": f"{name}={jar[name].value}"})
        wifi = line.getresponse().read().decode()
        assert "SHA-256 fingerprint" in wifi and "<svg" in wifi
        # A form from the plain door's address is not ours.
        line.request("POST", to, body, headers | {"Origin": f"http://127.0.0.1:{door}"})
        assert line.getresponse().status == 403
        line.close()
        stranger = http.client.HTTPSConnection("127.0.0.1", port, timeout=20)
        with pytest.raises(ssl.SSLCertVerificationError):
            stranger.request("GET", "/up")
        assert plain(door, "/").body.startswith(b"<!doctype html>")
        for path, to in (
            ("/today", "/today"),
            ("/x?next=//evil", "/x"),
            ("//evil.example", "/"),
            ("/%0d%0aX:1", "/"),
        ):
            answer = plain(door, path)
            assert (answer.status, answer.headers["location"]) == (307, f"https://127.0.0.1:{port}{to}"), path
            assert "set-cookie" not in answer.headers
        assert plain(door, "/sign-in", "POST").status == 405
        odd = plain(door, "/today", Host="evil.example/@x")
        assert odd.headers["location"] == f"https://127.0.0.1:{port}/today"


def test_a_name_that_no_house_has_stops_the_start_with_one_sentence(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    asked = ("serve", "--https", "--data", str(folder), "--port", "0")
    told = command(*asked, DAYBUOY_NAMES='["shop.example.com"]')
    assert told.returncode == 1 and told.stdout == ""
    assert (
        "shop.example.com is not a name inside a house" in told.stderr and len(told.stderr.splitlines()) == 1
    )
