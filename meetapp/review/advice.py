"""What to change after a meet: which token, which floor, who needs another channel or kit, how many tokens."""

from collections.abc import Iterator

from meetapp.review.advised import Advice, about
from meetapp.review.explaining import MeetExplained
from meetapp.review.people_advice import kit_to_try, transmitters_to_check
from meetapp.review.replay import FlownDay
from meetapp.review.set_advice import floor_advice, token_advice
from meetapp.review.wait_advice import count_advice

_WORTH_SAYING = 1.0


def advise(explained: MeetExplained) -> tuple[Advice, ...]:
    """What the meet's reports and waits suggest, weightiest first; one line that says so where nothing does."""
    day = FlownDay(explained.record)
    found = [
        *token_advice(explained, day),
        *floor_advice(explained, day),
        *transmitters_to_check(explained),
        *kit_to_try(explained),
        *_power_rule(explained),
        *count_advice(day),
    ]
    if not found:
        found = [Advice("nothing", "Nothing in this meet's record asks clearly for another set, floor or transmitter.")]
    return tuple(sorted(found, key=lambda each: -each.reports))


def _power_rule(explained: MeetExplained) -> Iterator[Advice]:
    """Who was on air without a token can only be asked for; the rule can be said again."""
    amount = explained.expected.get("no_token", 0.0)
    if amount >= _WORTH_SAYING:
        yield Advice(
            "power_rule",
            f"{about(amount).capitalize()} may come from somebody on air without a token: say before the next meet "
            "that nobody powers up before they hold one, on the bench neither, and keep the tags in one place.",
            amount,
        )
