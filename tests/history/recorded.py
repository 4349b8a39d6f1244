"""What was recorded of a meet, as operations for the model, with what its database kept of them."""

from collections import Counter
from collections.abc import Callable, Mapping
from math import inf
from typing import Any

from sqlmodel import Session, col, select

from meetapp.store import tables as t
from tests.history import meaning
from tests.history.order import Answer, Op
from tests.history.phones import Ground, Recorded

_SEEN: dict[str, Callable[[str], Answer]] = {
    "board": meaning.seen_on_board,
    "alarms": meaning.seen_alarms,
    "offers": meaning.seen_offers,
}


def as_ops(ground: Ground) -> tuple[list[Op], dict[str, float]]:
    """The history for the model, and each key's place in the order of the journal."""
    with ground.store.read() as session:
        answers = {row.key: row.answer for row in session.exec(select(t.Operation))}
        made = _loans_made(session, ground.meet_id)
        rest = _told_apart(session, ground)
        alarms = _alarms(session, ground.meet_id)
        undone = dict(session.exec(select(t.JournalLine.undoes_id, t.JournalLine.id)).all())
    lines = {key: answer["undo_id"] for key, answer in answers.items() if answer["undo_id"] is not None}
    lines |= {
        record.key: undone[lines[record.facts["of"]]]
        for record in ground.records
        if record.kind == "undo" and record.key in answers
    }

    def told(record: Recorded) -> Mapping[str, Any]:
        return alarms[record.facts["alarm"]] if record.kind == "end alarm" else record.facts

    ops = [
        Op(
            number=number,
            who=record.who,
            kind=record.kind,
            facts=told(record),
            key=record.key,
            called=record.called,
            answered=record.answered,
            answer=_answer(record, answers.get(record.key), ground),
            made=_made(record, made.get(lines.get(record.key, 0), {}), answers),
            is_sent_twice=record.is_sent_twice,
        )
        for number, record in enumerate(ground.records)
    ]
    return ops, lines | rest


def _made(
    record: Recorded, loans: Mapping[str, int], answers: Mapping[str, Mapping[str, Any]]
) -> Mapping[str, int]:
    """The ids that it made: loans by token, or the offer's."""
    is_offer = record.kind == "offer" and record.key in answers
    return {"offer": answers[record.key]["made_id"]} if is_offer else loans


def _alarms(session: Session, meet_id: int) -> dict[int, dict[str, Any]]:
    """What kind each alarm is of, and the how manieth of its kind."""
    seen: Counter[str] = Counter()
    found = {}
    for row in session.exec(select(t.Alarm).where(t.Alarm.meet_id == meet_id).order_by(col(t.Alarm.id))):
        seen[row.kind] += 1
        found[row.id] = {"kind": row.kind, "nth": seen[row.kind]}
    return found


_LINES = {
    "offer": "pass_offered", "take offer back": "pass_withdrawn", "say no": "pass_refused", "raise": "alarm_raised",
    "end alarm": "alarm_over",
}  # fmt: skip


def _told_apart(session: Session, ground: Ground) -> dict[str, float]:
    """A rank for what can't be undone, by its line in the journal: of the same instant, or else in the same order."""
    made = {row.key: row.made_at for row in session.exec(select(t.Operation))}
    ranks: dict[str, float] = {}
    for kind, told in _LINES.items():
        of_kind = select(t.JournalLine).where(t.JournalLine.meet_id == ground.meet_id, t.JournalLine.kind == told)
        lines = session.exec(of_kind.order_by(col(t.JournalLine.id))).all()
        keys = {record.key for record in ground.records if record.kind == kind and record.key in made}
        at = {line.entered_at: line.id for line in lines}
        exactly = {key: at.pop(made[key]) for key in sorted(keys, key=made.__getitem__) if made[key] in at}
        others = sorted(keys - exactly.keys(), key=made.__getitem__)
        # Whoever raises what is raised already, or ends what is over, changes nothing: after all the others.
        ranks |= dict.fromkeys(keys, inf) | dict(zip(others, sorted(at.values()), strict=False)) | exactly
    return ranks


def _answer(record: Recorded, kept: Mapping[str, Any] | None, ground: Ground) -> Answer | None:
    """What was answered. The sentence of a deed that was done is what the next page reads from the kept answer."""
    if record.reply is None:
        return None
    page = record.reply.body.decode()
    if record.kind == "desk":
        return meaning.seen_on_desk(page, ground.names)
    if record.kind in _SEEN:
        return _SEEN[record.kind](page)
    if record.reply.status == 303:
        return meaning.done(record.kind, kept["notice"]) if kept else ("done, and lost",)
    if record.reply.status in (403, 404, 409, 422):
        return meaning.refused(record.kind, page)
    return ("status", record.reply.status)


def _loans_made(session: Session, meet_id: int) -> dict[int, dict[str, int]]:
    """The loans that each line made, by the labels of their tokens; those of a heat are told by the lines after it."""
    labels = {token.id: token.label for token in session.exec(select(t.Token))}
    made: dict[int, dict[str, int]] = {}
    of = 0
    lines = select(t.JournalLine).where(t.JournalLine.meet_id == meet_id).order_by(col(t.JournalLine.id))
    for line in session.exec(lines):
        of = line.id if line.is_undoable else of
        if line.kind in ("handed_out", "heat_token_out", "handed_over", "turns_swapped"):
            made.setdefault(of, {})[labels[line.facts["token"]]] = line.facts["loan"]
    return made
