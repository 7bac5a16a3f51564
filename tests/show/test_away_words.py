"""Rules for the helper in words: what they are worth is told as it was found."""

from advisor.jobs.away import signs
from advisor.show.away_words import hot_words, rule_worth


def rule(without: float, with_rule: float, extra: float) -> signs.HotRule:
    tested = signs.Tested(5, without, with_rule)
    return signs.HotRule(30, True, False, ("3", "11"), extra, tested)


def test_a_rule_that_saved_trees() -> None:
    assert rule_worth(rule(0.4, 0.1, 1.23)) == (
        "Found on even years, tried on 5 odd years: some of these trees suffer in 40 % without "
        "it, 10 % with it. It costs about 1.2 more visits an absence.")


def test_a_rule_that_had_nothing_to_save() -> None:
    """No share of nothing, and no "0.0 visits"."""
    assert rule_worth(rule(0.0, 0.0, 0.01)) == (
        "Found on even years, tried on 5 odd years: none of these trees suffers then, with it or "
        "without. It costs hardly a visit more an absence.")


def test_signs_that_a_helper_sees() -> None:
    assert hot_words(rule(0.4, 0.1, 1.0)) == (
        "On a day over 30 °C, or one on which washing on the line dries within the hour, with no "
        "visit planned: come that evening and water the pots marked B (3 and 11).")
    assert "over 86 °F" in hot_words(rule(0.4, 0.1, 1.0), us=True)
