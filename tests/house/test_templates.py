"""Templates keep to the pages' content policy, never switch escaping off, and lie where their page is."""

import re

import pytest

from tests.house.tree import ROOT, texts

RULES = {
    "a style element": re.compile(r"<style\b", re.I),
    "a style attribute": re.compile(r"\sstyle\s*=", re.I),
    "a script of its own": re.compile(r"<script\b(?![^>]*\ssrc=)", re.I),
    "an address that is a script": re.compile(r"[\"']\s*javascript:", re.I),
    "a handler attribute": re.compile(r"\s(?:data-)?(?:hx-)?on[a-z:-]+\s*=\s*[\"'{]", re.I),
    "a computed htmx value": re.compile(r"\shx-[a-z:-]+\s*=\s*[\"']\s*js:", re.I),
    "a file from elsewhere": re.compile(r"\s(?:src|href|action)\s*=\s*[\"'](?:https?:)?//", re.I),
    "escaping switched off": re.compile(r"\|\s*safe\b|\bautoescape\s+false\b|\bMarkup\s*\("),
}


def broken(text: str) -> set[str]:
    """Return the names of the rules that a template's text breaks; template comments do not count."""
    shown = re.sub(r"\{#.*?#\}", "", text, flags=re.S)
    return {name for name, sign in RULES.items() if sign.search(shown)}


def test_templates_keep_every_rule() -> None:
    found = {address: broken(text) for address, text in texts("templates")}
    assert found
    assert {address: names for address, names in found.items() if names} == {}


def test_every_folder_of_templates_is_named_like_its_web_module() -> None:
    modules = {path.stem for path in (ROOT / "app/web").iterdir()}
    folders = {path.name for path in (ROOT / "templates").iterdir() if path.is_dir()}
    assert folders
    assert folders - modules - {"_shared"} == set()
    assert [path.name for path in (ROOT / "templates").iterdir() if path.is_file()] == []


@pytest.mark.parametrize(
    ("planted", "name"),
    [
        ("<style>p {color: red}</style>", "a style element"),
        ('<p style="color: red">', "a style attribute"),
        ("<script>go()</script>", "a script of its own"),
        ('<a href="javascript:go()">', "an address that is a script"),
        ('<button onclick="go()">', "a handler attribute"),
        ('<button hx-on:click="go()">', "a handler attribute"),
        ("<form hx-vals='js:{a: 1}'>", "a computed htmx value"),
        ('<script src="//elsewhere.example/x.js"></script>', "a file from elsewhere"),
        ("{{ note | safe }}", "escaping switched off"),
        ("{% autoescape false %}", "escaping switched off"),
    ],
)
def test_a_planted_fault_is_found(planted: str, name: str) -> None:
    assert name in broken(planted)


def test_sound_markup_passes() -> None:
    sound = """<script src="/static/daybuoy.js" defer></script><a href="/today" data-action="x">on = safe</a>
    {# style="x" #}<input name="only" value="{{ person.name }}" hx-target="#list">"""
    assert broken(sound) == set()
