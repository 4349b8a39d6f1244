"""The journal in plain sentences: every kind that is written has one."""

import ast
from pathlib import Path

import pytest

import meetapp
from meetapp.flows import journal
from meetapp.flows.journal import JournalEntry
from meetapp.flows.journal_sentences import SENTENCES
from meetapp.flows.loans.undo_words import CONTRADICTION_WORDS, UNDO_WORDS
from meetapp.store import tables as t
from tests.desk import Desk

FLOWS = Path(meetapp.__file__).parent / "flows"


def strings_in(node: ast.AST) -> set[str]:
    return {part.value for part in ast.walk(node) if isinstance(part, ast.Constant) and isinstance(part.value, str)}


def kinds_written_in(path: Path) -> set[str]:
    """The first argument of each `....note(...)`: a text, or a name that is given texts in the same function."""
    found: set[str] = set()
    for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(function, ast.FunctionDef):
            continue
        for call in ast.walk(function):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute) and call.func.attr == "note":
                found |= kinds_of(call.args[0], function)
    return found


def kinds_of(argument: ast.expr, function: ast.FunctionDef) -> set[str]:
    if not isinstance(argument, ast.Name):
        return outcomes(argument)
    given = [each for each in ast.walk(function) if isinstance(each, ast.Assign)]
    texts = [outcomes(each.value) for each in given if argument.id in {ast.unparse(target) for target in each.targets}]
    return set().union(*texts)


def outcomes(value: ast.expr) -> set[str]:
    if isinstance(value, ast.IfExp):
        return outcomes(value.body) | outcomes(value.orelse)
    return {value.value} if isinstance(value, ast.Constant) and isinstance(value.value, str) else set()


@pytest.mark.parametrize("path", sorted(FLOWS.rglob("*.py")), ids=lambda path: path.stem)
def test_every_kind_that_is_written_has_a_sentence(path: Path) -> None:
    assert kinds_written_in(path) - set(SENTENCES) == set()


def test_the_search_for_kinds_finds_them() -> None:
    assert {"handed_out", "handed_over", "taken_back", "ground_lent", "ground_off"} <= kinds_written_in(
        FLOWS / "loans" / "loans.py"
    )


def test_every_undo_has_words_that_belong_to_a_kind() -> None:
    assert set(UNDO_WORDS) <= set(SENTENCES)


def test_every_contradiction_has_words() -> None:
    source = (Path(meetapp.__file__).parent / "rules" / "contradictions.py").read_text(encoding="utf-8")
    calls = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    made = [call for call in calls if ast.unparse(call.func) == "Contradiction"]
    assert {outcomes(call.args[0]).pop() for call in made} == set(CONTRADICTION_WORDS)


def entries(desk: Desk) -> tuple[JournalEntry, ...]:
    return journal.lines(desk.store, desk.world.meet)


def sentences(desk: Desk) -> list[str]:
    return [entry.sentence for entry in entries(desk)]


def test_a_day_reads_as_sentences_with_names(any_desk: Desk) -> None:
    any_desk.set_transmitter("Cy", kind_id=any_desk.world.kinds["analogue tunable"])
    any_desk.join("Ana", "Bo")
    any_desk.not_ready("Bo")
    any_desk.hand_out("Ana", "R1")
    any_desk.tick_seen("Ana")
    any_desk.hand_over("Ana", "Cy")
    any_desk.change("Cy", mhz=5656)
    any_desk.share("Cy", "Di")
    any_desk.swap("R1")
    any_desk.end_turns("R1")
    any_desk.missing("R1")
    any_desk.found("R1")
    any_desk.withdraw("R1")
    any_desk.leave("Bo")
    assert sentences(any_desk) == [
        "Ana joined the line",
        "Bo joined the line",
        "Bo is not ready: passed once, place kept",
        "R1 handed out to Ana: R1, 5658 MHz, 25 mW",
        "Ana has seen the picture on their own goggles",
        "R1 handed over from Ana to Cy: 5658 MHz, 25 mW",
        "Cy: set to 5656 MHz, 25 mW, before 5658 MHz",
        "Cy and Di use R1 by turns",
        "R1 goes by turns from Cy to Di: R1, 5658 MHz, 25 mW",
        "Di and Cy no longer use R1 by turns",
        "R1 is missing; Di had it last",
        "R1 is found",
        "R1 is withdrawn",
        "Bo left the line",
    ]


def test_an_override_is_a_line_of_its_own(any_desk: Desk) -> None:
    any_desk.set_meet(spacing_floor_mhz=83)
    any_desk.lend_ground("camera", 5740, token_id=any_desk.world.tokens["F1"])
    any_desk.hand_out("Ana", "R1", override_reason="far end", power_mw=200)
    any_desk.take_back("camera")
    any_desk.lend_ground("gate camera", 5700, override_reason="needed")
    assert sentences(any_desk) == [
        "camera on air on F1, 5740 MHz, with tag F1",
        "R1 handed out to Ana: R1, 5658 MHz, 200 mW",
        "By override for Ana: far end (below a floor: 82 MHz from 5740 on air, the floor is 83)",
        "camera off air, tag F1 back",
        "gate camera on air on 5700 MHz",
        "By override for gate camera: needed (below a floor: 42 MHz from 5658 on air, the floor is 83)",
    ]


def test_an_undone_line_says_so_and_the_undo_names_it(any_desk: Desk) -> None:
    any_desk.undo(any_desk.hand_out("Ana", "R1"))
    done, undone = entries(any_desk)
    assert (done.is_undone, undone.is_undone) == (True, False)
    assert undone.undoes_id == done.line_id
    assert undone.sentence == "Undone: R1 handed out to Ana: R1, 5658 MHz, 25 mW"


def test_says_who_did_it_when_and_when_it_was_entered(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    (entry,) = entries(desk)
    assert (entry.who, entry.role, entry.kind) == ("Mo", "marshal", "handed_out")
    assert entry.happened_at == entry.entered_at == desk.clock()


def test_a_kind_from_another_version_says_its_own_name(desk: Desk) -> None:
    with desk.store.write() as session:
        at = desk.clock()
        session.add(
            t.JournalLine(
                meet_id=desk.world.meet,
                kind="moon_landed",
                facts={},
                actor_role="marshal",
                actor_name="Mo",
                happened_at=at,
                entered_at=at,
            )
        )
        session.commit()
    assert sentences(desk) == ["moon landed"]
