"""The steps that lead to something, as an organiser's page lists them: what is done, what comes next."""

from dataclasses import dataclass, replace

DONE, NEXT, TO_DO = "done", "next", "to do"


@dataclass(frozen=True, slots=True)
class Step:
    """One step. `state`: 'done', 'next' or 'to do'. `may_wait`: the next one only where nothing else is left."""

    text: str
    href: str
    state: str
    detail: str
    may_wait: bool = False


def state_of(is_done: bool) -> str:
    """The state of a step before it is known which one comes next.

    >>> state_of(True), state_of(False)
    ('done', 'to do')
    """
    return DONE if is_done else TO_DO


def with_next(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """The steps, with the first one that isn't done as the next.

    >>> tokens, meet = Step("Tokens", "", TO_DO, "", may_wait=True), Step("A meet", "", TO_DO, "")
    >>> [step.state for step in with_next((tokens, meet))]
    ['to do', 'next']
    """
    to_do = [step for step in steps if step.state == TO_DO]
    first = min(to_do, key=lambda step: step.may_wait, default=None)
    return tuple(replace(step, state=NEXT) if step is first else step for step in steps)
