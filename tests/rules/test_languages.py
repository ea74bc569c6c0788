"""Languages as people type them."""

from app.rules.languages import codes_of, say_languages


def test_names_and_two_letters_are_understood() -> None:
    assert codes_of("English, german") == (("en", "de"), ())
    assert codes_of("português and EN; en") == (("pt", "en"), ())
    assert codes_of("fo klingon") == (("fo",), ("klingon",))
    assert codes_of("  ") == ((), ())


def test_codes_are_said_as_names() -> None:
    assert say_languages("en pt") == "English, Portuguese"
    assert say_languages("fo,de") == "fo, German"
    assert say_languages("") == ""
