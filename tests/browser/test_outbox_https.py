"""With the shop's own certificate a phone opens its group again without any signal at all."""

import base64
import hashlib
import shutil
import ssl
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import BrowserType, expect

from tests.browser.hands import PHONE, Person
from tests.server_world import serving_https
from tests.web_ready import GUIDE, ready_group
from tests.web_world import make_world


def fingerprint(port: int) -> str:
    """Return the hash of the server's key, as Chromium takes it for trusted."""
    pages = x509.load_pem_x509_certificate(ssl.get_server_certificate(("127.0.0.1", port)).encode())
    key = pages.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(key).digest()).decode()


def test_the_roll_call_opens_again_without_signal_and_goes_when_somebody_signs_out(
    tmp_path: Path, browser_type: BrowserType, browser_type_launch_args: dict
) -> None:
    ready = ready_group(make_world(tmp_path / "made"))
    assert ready.go_in().status == 200
    at, members = ready.at("/back"), ready.members
    ready.world.house.close()
    shutil.copytree(tmp_path / "made" / "data", tmp_path / "data")
    with serving_https(tmp_path / "data") as (port, _door):
        trusted = [
            *browser_type_launch_args["args"],
            f"--ignore-certificate-errors-spki-list={fingerprint(port)}",
        ]
        browser = browser_type.launch(**{**browser_type_launch_args, "args": trusted})
        phone = browser.new_context(viewport=PHONE, has_touch=True)
        page = phone.new_page()
        guide = Person(page, f"https://127.0.0.1:{port}", GUIDE)
        guide.sign_in()
        guide.go(at)
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.wait_for_function("navigator.serviceWorker.controller !== null")
        guide.go(at)
        phone.set_offline(True)
        page.get_by_role("button", name="Bo is back").tap()
        expect(page.locator("#outbox [data-word]")).to_contain_text("On this phone")
        page.reload()
        expect(page.locator("h1")).to_have_text("Back in: group A")
        expect(page.locator(f"#person-{members['Bo']}")).to_contain_text("on this phone")
        page.get_by_role("button", name="Ann is back").tap()
        expect(page.locator("#outbox [data-word]")).to_contain_text("2 entries")
        page.goto(f"https://127.0.0.1:{port}{ready.at('/out')}")
        expect(page.locator("h1")).to_have_text("No signal")
        page.goto(f"https://127.0.0.1:{port}{at}")
        phone.set_offline(False)
        page.evaluate("dispatchEvent(new Event('online'))")
        expect(page.locator("#outbox [data-word]")).to_contain_text("At the shop")
        expect(page.locator("main")).to_contain_text("1 not marked as back")
        page.get_by_role("button", name="Sign out").click()
        expect(page.locator("h1")).to_have_text("Sign in")
        phone.set_offline(True)
        page.goto(f"https://127.0.0.1:{port}{at}")
        expect(page.locator("h1")).to_have_text("No signal")
        browser.close()
