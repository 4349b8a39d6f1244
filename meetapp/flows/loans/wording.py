"""Sentences about who has what since when, in the site's time. One place, so that every page says the same."""

from datetime import datetime

from meetapp.flows.deeds import Actor
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.snapshot import OnAir, Person, Snapshot, TokenNow
from meetapp.rules.loans import Field, Refusal


def clock(snapshot: Snapshot, at: datetime) -> str:
    """A time of day in the site's zone, with its date where that isn't today's: '14:02', '22:10 on 13 June'."""
    there, today = at.astimezone(snapshot.zone), snapshot.now.astimezone(snapshot.zone)
    day = "" if there.date() == today.date() else f" on {there.day} {there:%B}"
    return f"{there:%H:%M}{day}"


def out_with(snapshot: Snapshot, loan: OnAir) -> str:
    """'is out with Bo since 14:02'."""
    return f"is out with {loan.who} since {clock(snapshot, loan.out_at)}"


def holds_since(snapshot: Snapshot, loan: OnAir) -> str:
    """'holds R3 since 14:02'."""
    return f"holds {loan.token_label} since {clock(snapshot, loan.out_at)}"


def home_of(actor: Actor) -> str:
    """Where this person goes on after a deed."""
    return "/my" if actor.role == "pilot" else "/desk"


def loan_address(actor: Actor, loan_id: int) -> str:
    """The page that says what to set for a loan."""
    return "/my" if actor.role == "pilot" else f"/desk/loans/{loan_id}"


def person_at(snapshot: Snapshot, pilot_id: int) -> Person:
    """A pilot who is known at this meet. Raises NotFound."""
    person = snapshot.people.get(pilot_id)
    if person is None:
        raise NotFound("This pilot isn't on the list of this meet.", "Check them in first.")
    return person


def token_at(snapshot: Snapshot, token_id: int) -> TokenNow:
    """A token that belongs to this meet. Raises NotFound."""
    token = snapshot.token(token_id)
    if token is None:
        raise NotFound("This token doesn't belong to this meet.", "Look at the tokens on the desk page.")
    return token


def check_there(person: Person) -> None:
    """Raise Refused unless this pilot is checked in and still flies with the club."""
    if person.is_retired:
        raise Refused(f"{person.board_name} is retired from the club's list.", "The organiser can bring them back.")
    if not person.is_present:
        raise Refused(f"{person.board_name} isn't checked in.", "Check them in first.")


def check_step(snapshot: Snapshot, after: Field | Refusal, token_id: int | None, pilot_id: int | None) -> None:
    """Raise what the loan rules refuse, as a sentence that says who has it and since when."""
    if isinstance(after, Refusal):
        raise _refused_by(snapshot, after, token_id, pilot_id)


def _refused_by(snapshot: Snapshot, refusal: Refusal, token_id: int | None, pilot_id: int | None) -> Refused:
    token = snapshot.token(token_id) if token_id is not None else None
    label = token.label if token else "This token"
    person = snapshot.people.get(pilot_id) if pilot_id is not None else None
    who = person.board_name if person else "This pilot"
    loan = snapshot.loan(refusal.loan.loan_id) if refusal.loan else None
    match refusal.reason:
        case "token_out" if loan:
            return Refused(f"{label} {out_with(snapshot, loan)}.", "Take it back or hand it over first.")
        case "pilot_holds" if loan:
            return Refused(f"{who} {holds_since(snapshot, loan)}.", "Take it back first: one token for each pilot.")
        case "token_missing":
            return Refused(f"{label} is missing.", "Once it hangs on the board again, mark it found.")
        case "token_withdrawn":
            return Refused(f"{label} is withdrawn.", "Take another token.")
        case "pilot_absent":
            return Refused(f"{who} isn't checked in.", "Check them in first.")
        case "same_pilot":
            return Refused(f"{who} holds this token already.", "Choose somebody else to hand it over to.")
        case "before_out" if loan:
            return Refused(
                f"{label} went out at {clock(snapshot, loan.out_at)}, which is still to come by this machine's clock.",
                "Set the clock of the machine that runs the meet.",
            )
        case _:
            return Refused(f"{label} can't be handed out.", "Load the page again.")
