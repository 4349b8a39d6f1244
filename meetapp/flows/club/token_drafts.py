"""What stands on a tag, read line by line: its code, its label, its frequency."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from meetapp.flows.club.token_codes import read_alike
from meetapp.flows.errors import Refused
from meetapp.flows.readings import one_line, refusing
from meetapp.spectrum.channels import ChannelPlan, check_mhz
from meetapp.store import tables as t

LINES_MAX = 60
LABEL_LENGTH_MAX = 8
_CODE = re.compile(r"[A-Z0-9][A-Z0-9-]{0,11}")


@dataclass(frozen=True, slots=True)
class TokenDraft:
    """What stands on a tag: its code, its label, its nominal frequency in MHz."""

    code: str
    label: str
    nominal_mhz: int


def read_drafts(text: str, plans: tuple[ChannelPlan, ...], known: Mapping[str, t.Token]) -> list[TokenDraft]:
    """The tags of a text, one a line. `known`: the club's tokens by what their codes read like.

    Raises:
        Refused: naming every line that is wrong.
    """
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if not lines:
        raise Refused("Type one token per line, such as K7 R3 5732.", field="lines")
    if len(lines) > LINES_MAX:
        raise Refused(f"{len(lines)} tokens are too many at once: {LINES_MAX} at most.", field="lines")
    drafts: list[TokenDraft] = []
    problems: list[str] = []
    first: dict[str, int] = {}
    for number, line in lines:
        try:
            draft = _draft(line, plans)
            refuse_taken(draft, known)
            if (before := first.setdefault(read_alike(draft.code), number)) != number:
                raise Refused(f"The code {draft.code} reads like the one in line {before}.")
            drafts.append(draft)
        except Refused as problem:
            problems.append(f"Line {number}, '{line.strip()[:40]}': {problem.sentence}")
    if problems:
        raise Refused(" ".join(problems), field="lines")
    return drafts


def _draft(line: str, plans: tuple[ChannelPlan, ...]) -> TokenDraft:
    words = [word for word in re.split(r"[\s,;]+", re.sub(r"\s*mhz\s*$", "", line, flags=re.IGNORECASE)) if word]
    if len(words) not in (2, 3):
        raise Refused("Write code, label and MHz, such as K7 R3 5732.")
    if len(words) == 3:
        return checked(words[0], words[1], words[2])
    known = {channel.label: channel.mhz for plan in plans for channel in plan.channels}
    if (mhz := known.get(words[1].upper())) is None:
        raise Refused(f"'{words[1]}' is no channel of the club's plans, so say its MHz too.")
    return checked(words[0], words[1], str(mhz))


def checked(code: str, label: str, mhz: str) -> TokenDraft:
    """What stands on one tag, if it can stand there.

    Raises:
        Refused: naming the field.
    """
    code = one_line(code).upper()
    if not _CODE.fullmatch(code):
        raise Refused("A code is up to 12 letters, digits and hyphens.", field="code")
    if not 0 < len(label) <= LABEL_LENGTH_MAX:
        raise Refused(f"A label is up to {LABEL_LENGTH_MAX} characters, or nobody reads it on the tag.", field="label")
    if not (mhz.isdecimal() and len(mhz) <= 6):
        raise Refused(f"'{mhz[:20]}' is no frequency in whole MHz.", field="nominal_mhz")
    with refusing("nominal_mhz"):
        check_mhz("nominal_mhz", int(mhz))
    return TokenDraft(code, label, int(mhz))


def refuse_taken(draft: TokenDraft, known: Mapping[str, t.Token]) -> None:
    """Refuse a code that reads like another token's."""
    if (token := known.get(read_alike(draft.code))) is None:
        return
    if token.state == "withdrawn":
        raise Refused(
            f"The code {token.code} was withdrawn, and a withdrawn code is never used again.",
            "Put that token back in use, or mark the tag with another code.",
            field="code",
        )
    raise Refused(
        f"The code {draft.code} reads like {token.code}, which is {token.label}'s already.",
        "Every code stands on one tag only.",
        field="code",
    )
