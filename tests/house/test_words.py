"""Words that may not stand in what people read, and papers that the tree must not lean on."""

import re

import pytest

from tests.house.tree import texts

# Nobody can say that of a dive: pages show cautions, and the instructor decides.
CLAIM = re.compile(
    r"\b(?:is|are|was|be|dive|perfectly|completely|entirely)\s+safe\b(?!\s+side)|\bsafe\s+(?:to\s+dive|dives?)\b",
    re.I,
)
DENIED = re.compile(r"\b(?:never|not|nobody|cannot|no)\b", re.I)

# Papers outside this tree: a reader of the tree cannot open them, so a fact names its published source.
ELSEWHERE = re.compile(
    r"(?<![\w-])shared/(?!\w*\.html)"
    r"|\bissue\s*#\s*\d|\b(?:contract|craft|ux|stack|safety-and-security|design|physics|screening|rules)\.md\b",
    re.I,
)


def claims(text: str) -> list[str]:
    """Return the sentences that claim safety and do not deny it."""
    folded = " ".join(text.split())
    return [
        sentence
        for sentence in re.split(r"(?<=[.!?:;])\s", folded)
        if CLAIM.search(sentence) and not DENIED.search(sentence)
    ]


def leans(text: str) -> list[str]:
    """Return what names a paper that is not in this tree."""
    return [found.group() for found in ELSEWHERE.finditer(text)]


def test_nothing_says_that_a_dive_is_safe() -> None:
    read = {
        address: claims(text) for address, text in texts("app", "templates", "static/daybuoy.js", "README.md")
    }
    assert len(read) > 1
    assert {address: found for address, found in read.items() if found} == {}


def test_nothing_leans_on_papers_outside_the_tree() -> None:
    places = (
        "app",
        "templates",
        "migrations",
        "seed_demo",
        "tests",
        "static/daybuoy.js",
        "static/daybuoy.css",
    )
    papers = ("README.md", "DEVELOPERS.md", "Makefile", "pyproject.toml", ".ci", "docs")
    found = {
        address: leans(text)
        for address, text in texts(*places, *papers)
        if address != "tests/house/test_words.py"
    }
    assert len(found) > 1
    assert {address: names for address, names in found.items() if names} == {}


@pytest.mark.parametrize("planted", ["This dive is safe.", "Safe to dive", "All groups are\n safe."])
def test_a_planted_claim_is_found(planted: str) -> None:
    assert len(claims(planted)) == 1


@pytest.mark.parametrize(
    "sound", ["It never says that a dive is safe.", "Round to the safe side: is safe side"]
)
def test_a_denial_passes(sound: str) -> None:
    assert claims(sound) == []


@pytest.mark.parametrize("planted", ["see shared/domain", "as design.md says", "closes issue #12"])
def test_a_planted_reference_is_found(planted: str) -> None:
    assert len(leans(planted)) == 1


def test_shared_templates_are_no_reference() -> None:
    assert leans('{% extends "_shared/base.html" %}') == []
