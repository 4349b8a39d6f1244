"""What people do at a meet, by chance, each as soon as they were answered: at the desk, as pilots, looking on."""

import asyncio
import random
import re
from collections.abc import Awaitable, Callable

from meetapp.store import tables as t
from tests.history import meaning
from tests.history.phones import Ground, Lost, Person


async def act_at_the_desk(person: Person) -> None:
    """One thing that a marshal does, by chance."""
    ground, dice = person.ground, person.dice
    deeds, weights = zip(*_AT_THE_DESK.items(), strict=True)
    await dice.choices(deeds, weights)[0](person, ground, dice)


async def act_as_pilot(person: Person) -> None:
    """One thing that a pilot does."""
    deeds, weights = zip(*_AS_PILOT.items(), strict=True)
    await person.dice.choices(deeds, weights)[0](person, person.ground, person.dice)
    await asyncio.sleep(person.dice.uniform(0, 0.5))


async def _own_line(person: Person, ground: Ground, dice: random.Random) -> None:
    kind = dice.choice(["join", "join", "leave", "not ready", "ready"])
    await person.tap(kind, f"/my/line/{kind.replace(' ', '-')}", {"pilot": person.name})


async def _offer(person: Person, ground: Ground, dice: random.Random) -> None:
    to = dice.choice(sorted(ground.pilots)[:4])  # mostly those who act themselves
    facts = {"pilot": person.name, "to": to}
    await person.tap("offer", "/my/offers/new", facts, to_pilot_id=ground.pilots[to])


async def _answer_offers(person: Person, ground: Ground, dice: random.Random) -> None:
    """What the own page shows: take over what is offered, say no, or take one's own offer back."""
    page = await person.look("offers")
    deeds = [("take over", "loan", loan_id, f"/my/loans/{loan_id}/take-over") for loan_id in meaning.to_take(page)]
    _seen, to_me, mine = meaning.seen_offers(page)
    deeds += [("say no", "offer", each, f"/my/offers/{each}/refuse") for each in sorted(to_me)]
    if mine is not None:
        deeds.append(("take offer back", "offer", mine, f"/my/offers/{mine}/withdraw"))
    if deeds:
        kind, name, number, path = dice.choice(deeds)
        await asyncio.sleep(dice.uniform(0, 0.1))
        await person.tap(kind, path, {"pilot": person.name, name: number})


async def _raise(person: Person, ground: Ground, dice: random.Random) -> None:
    kind = dice.choice(["stray", "down"])
    await person.tap("raise", f"/alarms/{kind}", {"kind": kind})


async def _end_alarm(person: Person, ground: Ground, dice: random.Random) -> None:
    if ground.alarms:
        alarm_id = dice.choice(ground.alarms)
        await person.tap("end alarm", f"/alarms/{alarm_id}/over", {"alarm": alarm_id})


_AS_PILOT: dict[Callable[[Person, Ground, random.Random], Awaitable[None]], int] = {
    _own_line: 30, _offer: 20, _answer_offers: 30, _raise: 1, _end_alarm: 2,
}  # fmt: skip


async def look_at_the_board(person: Person) -> None:
    """What somebody does who has a phone and no part in it."""
    await person.look("board")
    await asyncio.sleep(1)


async def _hand_out(person: Person, ground: Ground, dice: random.Random) -> None:
    who, token = dice.choice(sorted(ground.pilots)), dice.choice(sorted(ground.tokens))
    path = f"/desk/pilots/{ground.pilots[who]}/hand-out"
    await person.tap("hand out", path, {"pilot": who, "token": token}, token_id=ground.tokens[token])


async def _hand_out_next(person: Person, ground: Ground, dice: random.Random) -> None:
    """What the desk proposes, as it stood a moment ago."""
    page = await person.look("desk")
    form = re.search(r'/desk/pilots/(\d+)/hand-out".*?name="token_id" value="(\d+)"', page, re.S)
    if form is not None:
        label = next(label for label, token_id in ground.tokens.items() if token_id == int(form[2]))
        facts = {"pilot": ground.names[form[1]], "token": label}
        await person.tap("hand out", f"/desk/pilots/{form[1]}/hand-out", facts, token_id=form[2])


async def _take_back(person: Person, ground: Ground, dice: random.Random) -> None:
    if ground.loans:
        loan_id = dice.choice(ground.loans[-8:])
        await person.tap("take back", f"/desk/loans/{loan_id}/take-back", {"loan": loan_id})


async def _hand_over(person: Person, ground: Ground, dice: random.Random) -> None:
    if ground.loans:
        loan_id, to = dice.choice(ground.loans[-8:]), dice.choice(sorted(ground.pilots))
        path = f"/desk/loans/{loan_id}/hand-over"
        await person.tap("hand over", path, {"loan": loan_id, "pilot": to}, to_pilot_id=ground.pilots[to])


async def _turns(person: Person, ground: Ground, dice: random.Random) -> None:
    """Two use a token by turns; or, more often, the other one's turn; or no more."""
    kind = dice.choice(["share", "share", "swap turns", "swap turns", "swap turns", "end turns"])
    if kind == "share":
        if ground.loans:
            loan_id, partner = dice.choice(ground.loans[-4:]), dice.choice(sorted(ground.pilots))
            facts, path = {"loan": loan_id, "partner": partner}, f"/desk/loans/{loan_id}/share"
            reply = await person.tap("share", path, facts, partner_id=ground.pilots[partner])
            if reply.status == 303 and loan_id in ground.token_of:
                ground.shared.append(ground.token_of[loan_id])
        return
    label = dice.choice(ground.shared[-2:] or sorted(ground.tokens))
    path = f"/desk/tokens/{ground.tokens[label]}/{kind.replace(' ', '-')}"
    await person.tap("swap" if kind == "swap turns" else kind, path, {"token": label})


async def _line(person: Person, ground: Ground, dice: random.Random) -> None:
    who = dice.choice(sorted(ground.pilots))
    kind = dice.choice(["join", "join", "join", "leave", "not ready", "ready"])
    await person.tap(kind, f"/desk/line/{ground.pilots[who]}/{kind.replace(' ', '-')}", {"pilot": who})


async def _token(person: Person, ground: Ground, dice: random.Random) -> None:
    label, kind = dice.choice(sorted(ground.tokens)), dice.choice(["missing", "found", "found", "found"])
    await person.tap(kind, f"/desk/tokens/{ground.tokens[label]}/{kind}", {"token": label})


async def _call(person: Person, ground: Ground, dice: random.Random) -> None:
    """The next heat, as the page of heats showed it."""
    page = await person.read_token("/desk/heats")
    heat = re.search(r'name="heat_id" value="(\d+)"', page)
    landing = re.search(r'name="landing_id" value="(\d+)"', page)
    drawn = re.findall(r'name="drawn" value="(\d+)"', page)
    if heat is None:
        return
    names = {heat_id: name for name, heat_id in ground.heats.items()}
    facts = {
        "heat": names[int(heat[1])],
        "landing": names[int(landing[1])] if landing else None,
        "drawn": frozenset(int(each) for each in drawn),
    }
    fields = {"heat_id": heat[1], "then": "next"} | ({"landing_id": landing[1]} if landing else {})
    await person.tap("call", "/desk/heats/next", facts, drawn=drawn, **fields)


async def _call_off(person: Person, ground: Ground, dice: random.Random) -> None:
    heat = dice.choice(sorted(ground.heats))
    await person.tap("call off", f"/desk/heats/{ground.heats[heat]}/call-off", {"heat": heat})


async def _broken(person: Person, ground: Ground, dice: random.Random) -> None:
    heat = dice.choice(sorted(ground.heats))
    who = dice.choice(ground.seats[heat])
    path = f"/desk/heats/{ground.heats[heat]}/seats/{ground.pilots[who]}/missing"
    await person.tap("broken", path, {"heat": heat, "pilot": who}, why="broken")


async def _undo(person: Person, ground: Ground, dice: random.Random) -> None:
    """One's own last, now and then somebody else's or an older one."""
    if not person.done:
        return
    key = person.done[-1] if dice.random() < 0.7 else dice.choice(person.done[-4:])
    with ground.store.read() as session:
        operation = session.get(t.Operation, key)
        line_id = operation.answer["undo_id"] if operation is not None else None
    if line_id is not None:
        await person.tap("undo", f"/undo/{line_id}", {"of": key})


async def _look(person: Person, ground: Ground, dice: random.Random) -> None:
    await person.look(dice.choice(["desk", "desk", "board"]))


_AT_THE_DESK: dict[Callable[[Person, Ground, random.Random], Awaitable[None]], int] = {
    _hand_out: 26, _hand_out_next: 4, _take_back: 20, _hand_over: 6, _turns: 14, _line: 14, _token: 7, _call: 6,
    _call_off: 3, _broken: 1, _undo: 12, _look: 5, _raise: 1, _end_alarm: 6,
}  # fmt: skip


async def act(people: list[tuple[Person, Callable[[Person], Awaitable[object]]]], ground: Ground) -> None:
    """Everybody acts until as much as asked was done; then each looks once more."""

    async def go_on(person: Person, step: Callable[[Person], Awaitable[object]]) -> None:
        while len(ground.records) < ground.left:
            lost: Lost | None = None
            try:
                await step(person)
            except Lost as error:
                lost = error
            while lost is not None:
                try:
                    await person.find_the_server(lost)
                    lost = None
                except Lost as error:
                    lost = error

    await asyncio.gather(*(go_on(person, step) for person, step in people))
    for person, step in people:
        person.phone.hang_up()
        person.phone.port = ground.port
        await person.look("desk" if step is act_at_the_desk else "board")
        person.phone.hang_up()
