"""Sentences that may be said in another language later, where somebody reads them."""

from typing import Any, Self


class Sentence(str):
    """An English sentence, filled in, that remembers how it was made.

    ``Sentence("Shorten this to %(most)d characters.", most=100)`` reads as English everywhere; a page in
    another language takes ``text`` and ``values`` and says it anew. With values, a percent sign is written
    twice; without, the text stands as it is.
    """

    text: str
    plural: str
    number: int
    values: dict[str, Any]

    def __new__(cls, text: str, **values: Any) -> Self:
        """Fill in ``text`` with the named values."""
        made = super().__new__(cls, text % values if values else text)
        made.text, made.plural, made.number, made.values = text, "", 0, values
        return made

    @classmethod
    def counted(cls, one: str, many: str, number: int, **values: Any) -> Self:
        """Fill in the text for one thing or for several; ``%(num)d`` is the number."""
        values = {"num": number, **values}
        made = super().__new__(cls, (one if number == 1 else many) % values)
        made.text, made.plural, made.number, made.values = one, many, number, values
        return made

    def with_values(self, **values: Any) -> Self:
        """Return the sentence with its named values filled in."""
        return type(self)(self.text, **values)
