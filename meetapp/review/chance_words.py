"""How a probability is said to somebody who doesn't reckon with them: in words and in per cent."""

_WORDS = (
    (0.8, "very likely by these odds"),
    (0.5, "more likely than not"),
    (0.2, "may well be"),
    (0.05, "less likely"),
    (0.0, "hardly"),
)
"""From this probability on, these words. Where one begins is common practice at best: no published source."""


def chance_words(probability: float) -> str:
    """A probability from 0 to 1 in words.

    >>> chance_words(0.62), chance_words(0.2), chance_words(0.01), chance_words(0.797) == chance_words(0.8)
    ('more likely than not', 'may well be', 'hardly', True)
    """
    return next(words for least, words in _WORDS if round(probability, 2) >= least)  # as per cent says it


def percent(probability: float) -> str:
    r"""A probability from 0 to 1 in whole per cent; never as certain or as impossible as rounding would make it.

    The spaces don't break.

    >>> percent(0.374), percent(0.002), percent(0.998), percent(1), percent(0)
    ('37\xa0%', 'under\xa01\xa0%', 'over\xa099\xa0%', '100\xa0%', '0\xa0%')
    """
    if 0 < probability < 0.01:
        return "under\xa01\xa0%"
    if 0.99 < probability < 1:
        return "over\xa099\xa0%"
    return f"{100 * probability:.0f}\xa0%"
