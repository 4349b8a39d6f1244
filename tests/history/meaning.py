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
        (r"^(\w+) is back since \S+ already", lambda m: ("back already", m[1])),
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
    "undo": [(r"^Undone\.", lambda m: ("done",))],
}
_REFUSED: list[tuple[str, Words]] = [
    (r"(\w+) is out with (\w+) since", lambda m: ("refused", "out with", m[1], m[2])),
    (r"(\w+) holds (\w+) since", lambda m: ("refused", "holds", m[1], m[2])),
    (r"(\w+) is missing\.", lambda m: ("refused", "missing", m[1])),
    (r"(\w+) for \w+: .* MHz from", lambda m: ("refused", "floor", m[1])),
]
_REFUSED_CALLS = ("is over already", "is called since", "others are on air", "comes before", "nobody got a token")
_SAYS = {"others are on air": "Others are on air", "nobody got a token": "Nobody in "}


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
    found = re.search(r'class="error-summary".*?<ul>(.*?)</ul>', page, re.S) or re.search(
        r'class="notice notice-refused".*?<p class="notice-text">(.*?)</p>', page, re.S
    )
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
