"""Names as they are compared: without accents, case, strokes, apostrophes and hyphens.

"jose" is José, "oyvind" is Øyvind, "obrien" and "o brien" are O'Brien. Letters of other scripts stay as they
are typed: a name in Arabic or Cyrillic is found in Arabic or Cyrillic.
"""

import unicodedata

# Letters with a stroke or joined letters, which have no accent to take off. casefold makes "ss" of "ß".
_LETTERS = str.maketrans(
    {
        "ø": "o", "œ": "oe", "æ": "ae", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ħ": "h", "ı": "i",
        "ŋ": "n", "ə": "e",
    }
)  # fmt: skip
# Every sign that people write for an apostrophe, and accents that stand alone.
_APOSTROPHES = frozenset("'’‘ʼʻ`´′")
# Arabic lengthens a word with this sign; it is no letter.
_TATWEEL = "ـ"


def fold(text: str) -> str:
    """Return a text for comparing: bare small letters and digits, no apostrophes, one space between words.

    Hyphens, dots and other signs part words.
    """
    if text.isascii():
        # Most names have nothing to take off.
        bare = text.lower().replace("'", "").replace("`", "")
    else:
        # Twice: letters that only look different ("𝓐") have no small form before they are taken apart.
        apart = unicodedata.normalize("NFKD", text.casefold())
        bare = unicodedata.normalize("NFKD", apart.casefold()).translate(_LETTERS)
        bare = "".join(
            one
            for one in bare
            if not unicodedata.combining(one) and one not in _APOSTROPHES and one != _TATWEEL
        )
        # What is left may be composed again: Korean syllables stay whole.
        bare = unicodedata.normalize("NFC", bare)
    return " ".join("".join(one if one.isalnum() else " " for one in bare).split())


def digits_of(text: str) -> str:
    """Return the digits of a phone number, without spaces, signs and a leading "00"."""
    digits = "".join(str(unicodedata.decimal(one)) for one in text if one.isdecimal())
    return digits.removeprefix("00")


def fold_key(full_name: str, call_name: str) -> str:
    """Return what search reads of a person's names: every word, and the words without spaces between."""
    words = fold(f"{full_name} {call_name}")
    # "vandenberg" finds van den Berg, "annmarie" finds Ann-Marie.
    joined = "".join(fold(full_name).split())
    return f"{words} {joined}" if " " in words else words
