"""Languages as people say them, and the two letters under which they are compared (ISO 639-1)."""

import re

# The language in which the program was written.
ORIGINAL = "en"
NAMES = {
    "ar": ("arabic", "العربية"),
    "bg": ("bulgarian", "български"),
    "ca": ("catalan", "català"),
    "cs": ("czech", "čeština"),
    "da": ("danish", "dansk"),
    "de": ("german", "deutsch"),
    "el": ("greek", "ελληνικά"),
    "en": ("english",),
    "es": ("spanish", "español"),
    "et": ("estonian", "eesti"),
    "fi": ("finnish", "suomi"),
    "fr": ("french", "français"),
    "he": ("hebrew", "עברית"),
    "hi": ("hindi", "हिन्दी"),
    "hr": ("croatian", "hrvatski"),
    "hu": ("hungarian", "magyar"),
    "is": ("icelandic", "íslenska"),
    "it": ("italian", "italiano"),
    "ja": ("japanese", "日本語"),
    "ko": ("korean", "한국어"),
    "lt": ("lithuanian", "lietuvių"),
    "lv": ("latvian", "latviešu"),
    "mt": ("maltese", "malti"),
    "nl": ("dutch", "nederlands"),
    "no": ("norwegian", "norsk"),
    "pl": ("polish", "polski"),
    "pt": ("portuguese", "português"),
    "ro": ("romanian", "română"),
    "ru": ("russian", "русский"),
    "sk": ("slovak", "slovenčina"),
    "sl": ("slovene", "slovenščina"),
    "sr": ("serbian", "српски"),
    "sv": ("swedish", "svenska"),
    "th": ("thai", "ไทย"),
    "tr": ("turkish", "türkçe"),
    "uk": ("ukrainian", "українська"),
    "zh": ("chinese", "中文"),
}
_CODES = {name: code for code, names in NAMES.items() for name in names}


def codes_of(said: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return (codes, words not understood) of languages typed as names or as two letters, in order.

    "English, de" gives (("en", "de"), ()). Two letters are taken as they are: there are more languages
    than this list.
    """
    words = [word for word in re.split(r"[\s,;/·]+", said.strip().casefold()) if word not in ("", "and")]
    found = {word: _CODES.get(word, word if re.fullmatch("[a-z]{2}", word) else "") for word in words}
    return tuple(dict.fromkeys(code for code in found.values() if code)), tuple(
        word for word, code in found.items() if not code
    )


def say_languages(codes: str) -> str:
    """Return stored codes as names: "en pt" gives "English, Portuguese"."""
    names = [
        NAMES[code][0].capitalize() if code in NAMES else code for code in re.split(r"[\s,]+", codes) if code
    ]
    return ", ".join(names)
