"""What is written and said after something went on air: the override in the journal, the answer for the pilot."""

from collections.abc import Mapping
from typing import Any

from meetapp.flows.deeds import Answer, Work
from meetapp.flows.loans.air_plan import AirPlan
from meetapp.flows.loans.wake import wake_words
from meetapp.flows.loans.wording import loan_address
from meetapp.flows.snapshot import Snapshot


def note_override(work: Work, snapshot: Snapshot, facts: Mapping[str, Any], plan: AirPlan, reason: str) -> None:
    """Write down that something went on air all the same, with what it breaks; nothing where there was no reason to."""
    if not reason:
        return
    told = {name: facts[name] for name in ("loan", "token", "pilot", "name") if name in facts}
    told |= {"reason": reason, "shortfalls": list(plan.broken)}
    if plan.held is not None:
        told |= {"other_pilot": plan.held.head.pilot_id, "minutes": plan.held.waited_min}
    work.note("override", told, meet_id=snapshot.meet_id)


def on_air_answer(
    work: Work, snapshot: Snapshot, plan: AirPlan, *, line_id: int, loan_id: int, token_label: str, who: str
) -> Answer:
    """What the pilot must set and what their transmitter wakes on, judged by who is on air beside them.

    `snapshot`: the meet before it; a loan that ended with it is no longer in `snapshot.on_air`.
    """
    kit = plan.kit
    wake = ""
    if kit is not None:
        wake = wake_words(snapshot, kit.wake_mhz, plan.setting.mhz, plan.width_mhz, kit, person=plan.person)
    sentences = [
        f"{who} has {token_label}." if token_label else f"{who} is on air.",
        f"Set {_setting_text(plan)}.",
        f"{wake[:1].upper()}{wake[1:]}." if wake else "",
        plan.warning,
    ]
    return Answer(
        loan_address(work.actor, loan_id),
        " ".join(sentence for sentence in sentences if sentence),
        undo_id=line_id,
        made_id=loan_id,
        facts={
            "token": token_label,
            "label": plan.setting.label,
            "mhz": plan.setting.mhz,
            "power_mw": plan.power_mw,
            "wake_words": wake,
            "setting_hint": kit.setting_hint if kit else "",
            "warning": plan.warning,
        },
    )


def _setting_text(plan: AirPlan) -> str:
    channel = plan.setting.label
    if channel != f"{plan.setting.mhz} MHz":
        channel = f"{channel} ({plan.setting.mhz} MHz)"
    return channel if plan.power_mw is None else f"{channel}, {plan.power_mw:g} mW"
