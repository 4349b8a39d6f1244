"""What a sentence or a page means, as the model would say it."""

import html
import re
from collections.abc import Callable

from tests.history.order import Answer

Words = Callable[[re.Match[str]], Answer]

_DONE: dict[str, list[tuple[str, Words]]] = {
    "hand out": [(r"^\w+ has \w+\.", lambda m: ("done",))],
    "take back": [
        (r"^(\w+) is back from (\w+)\.", lambda m: ("done", m[1], m[2])),
        (r"^The hand-out of (\w+) was undone already", lambda m: ("undone already", m[1])),
        (r"^(\w+) has been back since \S+ already", lambda m: ("back already", m[1])),
    ],
    "join": [
        (r"^(\w+) stands in the line as number (\d+)", lambda m: ("done", m[1], int(m[2]))),
        (r"^(\w+) stands in the line already, as number (\d+)", lambda m: ("stands already", m[1], int(m[2]))),
    ],
    "leave": [(r"is out of the line", lambda m: ("done",)), (r"^(\w+) isn't in the", lambda m: ("isn't in it", m[1]))],
    "not ready": [
        (r"is passed once and keeps", lambda m: ("done",)),
        (r"^(\w+) is passed once already", lambda m: ("is so already", m[1])),
        (r"^(\w+) isn't in the line", lambda m: ("isn't in it", m[1])),
    ],
    "ready": [
        (r"is ready again", lambda m: ("done",)),
        (r"^(\w+) is ready already", lambda m: ("is so already", m[1])),
        (r"^(\w+) isn't in the line", lambda m: ("isn't in it", m[1])),
    ],
    "missing": [
        (r"^(\w+) is missing already", lambda m: ("missing already", m[1])),
        (r"^(\w+) is missing\. (\w+) had it, since", lambda m: ("done", m[1], m[2])),
        (r"^(\w+) is missing\.", lambda m: ("done", m[1], "")),
    ],
    "found": [(r"is found", lambda m: ("done",)), (r"^(\w+) is in use already", lambda m: ("in use already", m[1]))],
    "call": [(r"is called: (\d+) tokens? out", lambda m: ("done", int(m[1])))],
    "call off": [(r"is no longer called", lambda m: ("done",))],
    "broken": [(r"quad is broken", lambda m: ("done",))],
    "hand over": [(r"^\w+ has \w+\.", lambda m: ("done",))],
    "take over": [(r"^\w+ has \w+\.", lambda m: ("done",))],
    "offer": [(r"^(\w+) is offered to (\w+)\. It stays", lambda m: ("done", m[1], m[2]))],
    "take offer back": [(r"^(\w+) is no longer offered to (\w+)\.", lambda m: ("done", m[1], m[2]))],
    "say no": [(r"^You said no to (\w+): it stays with (\w+)\.", lambda m: ("done", m[1], m[2]))],
    "share": [(r"use (\w+) by turns; (\w+) has it now\.", lambda m: ("done", m[1], m[2]))],
    "swap": [(r"^\w+ has \w+\.", lambda m: ("done",))],
    "end turns": [
        (r"^The turns on (\w+) are over; (\w+) keeps it", lambda m: ("done", m[1], m[2])),
        (r"^Nobody uses (\w+) by turns", lambda m: ("no turns", m[1])),
    ],
    "raise": [(r": every page says so now\.", lambda m: ("done",))],
    "end alarm": [(r": over\.", lambda m: ("done",))],
    "undo": [(r"^Undone\.", lambda m: ("done",))],
}
_REFUSED: list[tuple[str, Words]] = [
    (r"(\w+) holds this token already", lambda m: ("refused", "holds it", m[1])),
    (r"^(\w+) has \w+\.", lambda m: ("refused", "has it", m[1])),
    (r"You hold no token", lambda m: ("refused", "holds none")),
    (r"You hold (\w+) yourself", lambda m: ("refused", "is own", m[1])),
    (r"(\w+) is offered to (\w+) already", lambda m: ("refused", "offered", m[1], m[2])),
    (r"Nobody uses (\w+) by turns", lambda m: ("refused", "no turns", m[1])),
    (r"(\w+) uses (\w+) by turns", lambda m: ("refused", "by turns", m[1], m[2])),
    (r"(\w+) is used by turns already", lambda m: ("refused", "is shared", m[1])),
    (r"This loan is over", lambda m: ("refused", "over")),
    (r"wasn't offered to you", lambda m: ("refused", "not offered")),
    (r"This offer no longer stands", lambda m: ("refused", "offer over")),
    (r"This offer isn't (yours|made to you)", lambda m: ("refused", "other's offer")),
    (r"(\w+) is out with (\w+) since", lambda m: ("refused", "out with", m[1], m[2])),
    (r"(\w+) holds (\w+) since", lambda m: ("refused", "holds", m[1], m[2])),
    (r"(\w+) is missing\.", lambda m: ("refused", "missing", m[1])),
    (r"(\w+) for \w+: .* MHz from", lambda m: ("refused", "floor", m[1])),
]
_REFUSED_CALLS = (
    "is over already", "is called since", "others are on air", "comes before", "alarm", "nobody got a token",
)  # fmt: skip
_SAYS = {
    "others are on air": "Others are on air",
    "alarm": "no heat is called now",
    "nobody got a token": "Nobody in ",
}


def done(kind: str, notice: str) -> Answer:
    """What an answer says; ('?', the sentence) where it says nothing that is known."""
    return _first(_DONE[kind], notice)


def refused(kind: str, page: str) -> Answer:
    """What a page says on which something is refused."""
    sentence = _refusal_on(page)
    if kind == "undo":
        return ("refused", "undo")
    if kind in ("call", "call off", "broken"):
        found = next((each for each in _REFUSED_CALLS if _SAYS.get(each, each) in sentence), "heat")
        return ("refused", found)
    return _first(_REFUSED, sentence)


def _first(rules: list[tuple[str, Words]], sentence: str) -> Answer:
    for pattern, words in rules:
        if match := re.search(pattern, sentence):
            return words(match)
    return ("?", sentence)


def _refusal_on(page: str) -> str:
    places = (
        r'class="error-summary".*?<ul>(.*?)</ul>',
        r'class="notice notice-refused".*?<p class="notice-text">(.*?)</p>',
        r'<div class="fault">.*?<p class="lead">(.*?)</p>',
    )
    found = next((found for place in places if (found := re.search(place, page, re.S))), None)
    return plain(found[1]) if found else ""


def plain(markup: str) -> str:
    """The words of a piece of a page."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", markup)).split())


def notice_on(page: str) -> str:
    """The sentence of the last deed on the page that follows it."""
    found = re.search(r'<p class="notice-text">(.*?)</p>', page, re.S)
    return plain(found[1]) if found else ""


def seen_on_desk(page: str, names: dict[str, str]) -> Answer:
    """What the desk shows. `names`: pilots by their ids."""
    on_air = frozenset(
        (int(number), token, who)
        for number, token, who in re.findall(r"/desk/loans/(\d+)/take-back.*?: (\w+) from (\w+)</span>", page, re.S)
    )
    head = re.search(r'id="next".*?id="line"', page, re.S)
    following = re.search(r'id="line".*?id="on-air"', page, re.S)
    assert head, "no part for who is next"
    assert following, "no part for the line"
    ready = tuple(names[each] for each in re.findall(r"/desk/line/(\d+)/leave", head[0]))
    others = tuple(
        (names[pilot], what == "ready")
        for pilot, what in re.findall(r'/desk/line/(\d+)/(ready|not-ready)"', following[0])
    )
    missing = frozenset(re.findall(r'aria-label="Token (\w+), \d+ MHz, code \w+, missing"', page))
    in_air = re.search(r"In the air: <strong>(.*?)</strong>", page)
    coming = re.search(r"Next: (Round \d+, heat \d+)\.", page)
    return ("seen", on_air, ready, others, missing, in_air and in_air[1], coming and coming[1])


def seen_on_board(page: str) -> Answer:
    """What the board shows."""
    on_air = frozenset(
        re.findall(r'<span class="slot-label">(\w+)</span>.*?<span class="slot-name">(\w+)</span>', page, re.S)
    )
    following = re.search(r'class="board-next"><h2>Next</h2><ol>(.*?)</ol>', page, re.S)
    names = tuple(re.findall(r"<li>(\w+)</li>", following[1])) if following else ()
    found = re.search(r"<li><strong>([\w, ]+)</strong> missing</li>", page)
    return ("seen", on_air, names, frozenset(found[1].split(", ")) if found else frozenset())


def seen_alarms(page: str) -> Answer:
    """Which alarms a page says are on."""
    titles = re.findall(r'<p class="alarm-title">.*?(Stray transmitter|Everybody down)', page, re.S)
    return ("seen", frozenset("down" if "down" in title else "stray" for title in titles))


def alarm_ids(page: str) -> list[int]:
    """The alarms that can be ended from a page."""
    return [int(each) for each in re.findall(r"/alarms/(\d+)/over", page)]


def seen_offers(page: str) -> Answer:
    """What a pilot's own page shows: the offers to them, and their own."""
    mine = re.search(r"/my/offers/(\d+)/withdraw", page)
    to_me = frozenset(int(each) for each in re.findall(r"/my/offers/(\d+)/refuse", page))
    return ("seen", to_me, int(mine[1]) if mine else None)


def to_take(page: str) -> list[int]:
    """The loans whose token a pilot can take over from their own page."""
    return [int(each) for each in re.findall(r"/my/loans/(\d+)/take-over", page)]
