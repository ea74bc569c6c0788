"""Sentences that remember how they were made."""

from app.rules.sentences import Sentence


def test_a_sentence_reads_as_english_and_keeps_its_parts() -> None:
    said = Sentence("At most %(most)d characters.", most=100)
    assert said == "At most 100 characters." and said.text == "At most %(most)d characters."
    assert said.values == {"most": 100} and not said.plural
    assert Sentence("100 % air") == "100 % air"
    assert Sentence("%(hours)s h").with_values(hours="20") == "20 h"


def test_a_counted_sentence_takes_the_form_of_its_number() -> None:
    one, three = (Sentence.counted("One thing", "%(num)d things", number) for number in (1, 3))
    assert (one, three) == ("One thing", "3 things")
    assert (three.text, three.plural, three.number) == ("One thing", "%(num)d things", 3)
