"""Every item of the briefing has its sentence, with a place for its figure."""

from app.rules.briefing import BRIEFING
from app.rules.briefing_words import SENTENCES
from app.rules.translations import placeholders_in


def test_each_item_has_a_sentence_and_each_figure_its_place() -> None:
    assert list(SENTENCES) == [item.key for item in BRIEFING]
    for item in BRIEFING:
        places = set(placeholders_in(SENTENCES[item.key]))
        unit = None if item.limit is None else item.limit.unit
        assert places == {None: set(), "bar": {"%(pressure)s"}, "min": {"%(minutes)s"}}[unit], item.key
