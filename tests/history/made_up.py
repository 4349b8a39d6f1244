"""Made-up histories: operations in a few words, at a meet where R1 and F1 break a floor together."""

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from tests.history.meet_state import Meet, Plan
from tests.history.order import Answer, NoOrder, Op, one_order
from tests.history.passing import EVERY_STEP

HEATS = {"Round 1, heat 1": {"Ana": "R1", "Bo": "R8"}}
BEGIN = Meet.begin(Plan(EVERY_STEP, frozenset({frozenset({"R1", "F1"})}), HEATS), ("R1", "F1", "R8"))
NOTHING_SEEN = ("seen", frozenset(), (), frozenset())
DONE = ("done",)


def op(who: str, asked: str, at: tuple[float, float | None], answer: Answer | None, **more: Any) -> Op:
    """'hand out: Ana R1', 'take back: 7', 'undo: KEY'; the key is who and when unless `key` says."""
    kind, _, rest = asked.partition(": ")
    names = {"hand out": ("pilot", "token"), "take back": ("loan",), "missing": ("token",), "found": ("token",),
             "undo": ("of",), "board": (), "hand over": ("loan", "pilot"), "take over": ("loan", "pilot"),
             "offer": ("pilot", "to"), "take offer back": ("pilot", "offer"), "say no": ("pilot", "offer"),
             "raise": ("kind",), "end alarm": ("kind", "nth"), "alarms": (),
             "share": ("loan", "partner"), "swap": ("token",), "end turns": ("token",)}  # fmt: skip
    numbers = ("loan", "offer", "nth")
    words = zip(names.get(kind, ("pilot",)), rest.split(), strict=True)
    facts = {name: int(word) if name in numbers else word for name, word in words}
    return Op(0, who, kind, facts, more.pop("key", f"{who}{at[0]}"), *at, answer, **more)


def lent(who: str, asked: str, at: tuple[float, float | None], loan: int, **more: Any) -> Op:
    """A hand-out that was done."""
    return op(who, f"hand out: {asked}", at, DONE, made={asked.split()[1]: loan}, **more)


def offered(who: str, to: str, at: tuple[float, float | None], offer: int) -> Op:
    """R1, offered by whoever holds it."""
    return op(who, f"offer: {who} {to}", at, ("done", "R1", to), made={"offer": offer})


def called(at: tuple[float, float]) -> Op:
    """The first heat, with nobody on air."""
    facts = {"heat": "Round 1, heat 1", "landing": None, "drawn": frozenset[int]()}
    return replace(op("Lu", "board", at, ("done", 2)), kind="call", facts=facts)


def numbered(ops: Sequence[Op]) -> list[Op]:
    return [replace(each, number=number) for number, each in enumerate(ops)]


def board(on_air: dict[str, str], at: tuple[float, float], line: tuple[str, ...] = ()) -> Op:
    return op("somebody", "board", at, ("seen", frozenset(on_air.items()), line, frozenset()))


def check_is_wrong(ops: Sequence[Op], why: str) -> None:
    """Fail where such a history has an order, or where what stands in its way isn't told like this."""
    found = one_order(numbered(ops), BEGIN)
    assert isinstance(found, NoOrder)
    assert not found.is_given_up
    assert re.search(why, found.why), found.why
