"""What outlives a meet: tokens, pilots, what their transmitters wake on."""

from collections.abc import Iterator

from sqlalchemy import Connection

from tests.agreement.reading import Row, moment, rows
from tests.agreement.told import GOES_OUT

TOKEN_STATES = {
    "token_missing": "missing", "token_found": "usable", "token_in_use_again": "usable", "token_withdrawn": "withdrawn",
}  # fmt: skip
SETS = (*GOES_OUT, "setting_changed", "transmitter_added", "transmitter_changed")
RETIRED = {
    "pilot_retired": True, "pilot_brought_back": False, "transmitter_retired": True, "transmitter_brought_back": False,
}  # fmt: skip


def differences(connection: Connection, lines: list[Row]) -> Iterator[str]:
    """In what tokens, pilots and transmitters aren't as the lines that count tell."""
    yield from _tokens(connection, lines)
    yield from _retired(connection, lines)
    stands = {row["id"]: row["wake_mhz"] for row in rows(connection, "SELECT id, wake_mhz FROM pilot_transmitter")}
    for transmitter, mhz in _wakes(lines).items():
        if stands.get(transmitter) != mhz:
            yield f"transmitter {transmitter} wakes on {stands.get(transmitter)}, by the journal on {mhz}"


def _tokens(connection: Connection, lines: list[Row]) -> Iterator[str]:
    told: dict[int, tuple[str, object]] = {}
    tags: dict[int, tuple[str, int]] = {}
    for line in lines:
        at, facts = moment(line["entered_at"]), line["facts"]
        if line["kind"] in TOKEN_STATES:
            told[facts["token"]] = (TOKEN_STATES[line["kind"]], at)
        elif line["kind"] == "token_replaced":
            told[facts["token_before"]] = ("withdrawn", at)
            told[facts["token"]] = ("usable", at)
        elif line["kind"] == "token_corrected":
            tags[facts["token"]] = (facts["label"], facts["mhz"])
    found = {row["id"]: row for row in rows(connection, "SELECT * FROM token")}
    for token, state in told.items():
        row = found.get(token)
        stands = (row["state"], moment(row["state_since"])) if row else None
        if stands != state:
            yield f"token {token} is {stands}, by the journal {state}"
    for token, tag in tags.items():
        if (found[token]["label"], found[token]["nominal_mhz"]) != tag:
            yield f"on token {token} stands {found[token]['label']}, by the journal {tag}"
    moved = {line["facts"]["token"] for line in lines if line["kind"] in TOKEN_STATES} | told.keys()
    yield from (
        f"token {each} is {row['state']}, and no line says why"
        for each, row in found.items()
        if row["state"] != "usable" and each not in moved
    )


def _retired(connection: Connection, lines: list[Row]) -> Iterator[str]:
    for table, of in (("pilot", "pilot"), ("pilot_transmitter", "transmitter")):
        told = {line["facts"][of]: RETIRED[line["kind"]] for line in lines
                if line["kind"] in RETIRED and line["kind"].startswith(f"{of}_")}  # fmt: skip
        for row in rows(connection, f"SELECT id, retired_at FROM {table}"):
            if row["id"] in told and (row["retired_at"] is not None) != told[row["id"]]:
                yield f"{of} {row['id']} is {'' if row['retired_at'] else 'not '}retired, by the journal otherwise"


def _wakes(lines: list[Row]) -> dict[int, int | None]:
    """What each transmitter wakes on, as far as lines tell: that which was set last.

    Of a heat that is no longer called nobody has switched on: whose picture was not seen wakes as before.
    """
    wakes: dict[int, int | None] = {}
    owners: dict[int, int] = {}
    set_by: dict[int, Row] = {}
    is_called_off = False
    for line in lines:
        kind, facts = line["kind"], line["facts"]
        if kind in SETS and facts.get("transmitter") is not None:
            wakes[facts["transmitter"]], owners[facts["transmitter"]] = facts["mhz"], facts["pilot"]
            set_by[facts.get("loan", 0)] = facts
        elif kind == "heat_token_back" and is_called_off and facts["loan"] not in _seen(lines, line):
            before = set_by[facts["loan"]]
            wakes[before["transmitter"]] = before["wake_mhz"]
        elif kind in ("paper_loan", "paper_loan_out"):  # they say nothing of the transmitter
            wakes = {each: mhz for each, mhz in wakes.items() if owners.get(each) != facts["pilot"]}
        is_called_off = kind == "heat_call_off" or (is_called_off and kind == "heat_token_back")
    return wakes


def _seen(lines: list[Row], before: Row) -> set[int]:
    """The loans whose pilots had seen their picture, before this line."""
    seen: set[int] = set()
    for line in lines:
        kind, facts = line["kind"], line["facts"]
        if line["id"] > before["id"]:
            break
        if kind == "seen_on_goggles":
            seen.add(facts["loan"])
        elif kind == "seen_taken_back" or (kind == "setting_changed" and facts["mhz"] != facts["mhz_before"]):
            seen.discard(facts["loan"])
    return seen
