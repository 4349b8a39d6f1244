"""Paper: the sheet to print, and entering it afterwards, all rows or none, at the times that it says."""

from datetime import timedelta

import pytest
from sqlmodel import col, select

from meetapp.flows import journal
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.paper.pages import opened, text_of
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, loans_of, post, press_twice
from tests.world import NOON, Clock, World, add_pilot

ENTER = "Enter the sheet"


@pytest.fixture(autouse=True)
def afternoon(clock: Clock) -> None:
    """The sheet is entered at 15:00 UTC, 17:00 at the field."""
    clock.forward(hours=3)


def row(world: World, number: int, label: str, name: str, out: str, back: str = "", mhz: str = "") -> dict[str, str]:
    values = {
        "token": str(world.tokens.get(label, label)),
        "pilot": str(world.pilots.get(name, name)),
        "out": out,
        "back": back,
        "mhz": mhz,
    }
    return {f"{column}_{number}": value for column, value in values.items()}


def all_loans(store: Store) -> list[t.Loan]:
    with store.read() as session:
        return list(session.exec(select(t.Loan).order_by(col(t.Loan.out_at))))


def test_a_sheet_is_entered_with_the_times_it_happened(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    marshal.open("/desk/paper")
    press_twice(
        marshal,
        ENTER,
        **row(world, 1, "R1", "Ana", "14:05", "14:20"),
        **row(world, 2, "F5", "Bo", "14:10", "14:31", "5820"),
        **row(world, 4, "R1", "Cy", "14:20", "14:40"),
    )
    assert "3 loans are entered, from paper." in marshal.text
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
        setting = session.exec(select(t.LoanSetting).where(t.LoanSetting.loan_id == loan.id)).one()
        own = session.get_one(t.PilotTransmitter, world.transmitters["Ana"])
    # 14:05 in Berlin in June is 12:05 UTC.
    assert (loan.out_at, loan.in_at) == (NOON + timedelta(minutes=5), NOON + timedelta(minutes=20))
    assert loan.entered_at == clock()
    assert (setting.label, setting.mhz, setting.until_at) == ("R1", 5658, loan.in_at)
    assert own.wake_mhz == 5658
    lines = [line for line in journal.lines(store, world.meet) if line.kind == "paper_loan"]
    assert [line.sentence for line in lines] == [
        "From paper: Ana had R1 for 15 min, set to R1, 5658 MHz",
        "From paper: Bo had F5 for 21 min, set to F5, 5820 MHz",
        "From paper: Cy had R1 for 20 min, set to R1, 5658 MHz",
    ]
    assert lines[0].happened_at == loan.out_at
    assert lines[0].entered_at == clock()
    assert journal_kinds(store).count("paper_entered") == 1


def test_a_token_that_is_still_out_stands_on_the_desk(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    marshal.open("/desk/paper")
    marshal.press(ENTER, **row(world, 1, "R8", "Ana", "16:48"))
    marshal.open("/desk")
    assert "out 12 min" in marshal.text
    assert "Nobody waits." in marshal.text
    marshal.press("Take back : R8 from Ana")
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"])[0].in_at is not None


def test_a_channel_without_a_name_is_told_by_its_mhz(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Ana"]).kind_id = world.kinds["analogue tunable"]
        session.commit()
    marshal.open("/desk/paper")
    marshal.press(ENTER, **row(world, 1, "R1", "Ana", "14:05", "14:20"))
    marshal.open("/desk/journal")
    assert "From paper: Ana had R1 for 15 min, set to 5658 MHz" in marshal.text
    assert "?" not in marshal.text


def test_somebody_on_the_sheet_was_there_even_if_nobody_checked_them_in(
    marshal: Surfer, world: World, store: Store
) -> None:
    with store.write() as session:
        add_pilot(session, world, "Lou")
        session.commit()
    marshal.open("/desk/paper")
    marshal.press(ENTER, **row(world, 1, "R1", "Lou", "14:05", "14:20"))
    with store.read() as session:
        there = session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Lou"])).one()
    assert there.checked_in_at == NOON + timedelta(minutes=5)
    assert there.transmitter_id == world.transmitters["Lou"]


def test_what_lay_below_a_floor_is_entered_and_said(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/paper")
    marshal.press(
        ENTER,
        **row(world, 1, "R1", "Ana", "14:05", "14:30"),
        **row(world, 2, "F1", "Bo", "14:20", "14:40", "5680"),
        **row(world, 3, "R8", "Cy", "14:50", "14:55"),
    )
    assert "3 loans are entered, from paper." in marshal.text
    assert "row 1: 22 MHz from 5680 on air, the floor is 37" in marshal.text
    assert "row 2: 22 MHz from 5658 on air, the floor is 37" in marshal.text
    assert "row 3" not in marshal.text
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Bo"])
    assert loan.override_reason == "entered from paper: 22 MHz from 5658 on air, the floor is 37"


def test_a_whole_sheet_is_undone_at_once(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        add_pilot(session, world, "Lou")
        session.add(t.Attendance(meet_id=world.meet, pilot_id=world.pilots["Lou"], is_expected=True))
        session.commit()
    marshal.open("/desk/paper")
    marshal.press(ENTER, **row(world, 1, "R1", "Lou", "14:05", "14:20"), **row(world, 2, "F5", "Bo", "14:10", "14:31"))
    marshal.press("Undo")
    assert "Undone." in marshal.text
    assert all(loan.voided_at is not None for loan in all_loans(store))
    with store.read() as session:
        there = session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Lou"])).one()
    assert there.checked_in_at is None


def test_a_later_setting_stays_what_the_transmitter_wakes_on(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R8"])
    post(marshal, f"{marshal.path}/take-back")
    marshal.open("/desk/paper")
    marshal.press(ENTER, **row(world, 1, "R1", "Ana", "14:05", "14:20"))
    with store.read() as session:
        assert session.get_one(t.PilotTransmitter, world.transmitters["Ana"]).wake_mhz == 5917


@pytest.mark.parametrize(
    ("changed", "field", "sentence"),
    [
        pytest.param({"token_2": ""}, "token_2", "Row 2: choose the token.", id="no token"),
        pytest.param({"token_2": "4711"}, "token_2", "Row 2: choose the token.", id="unknown token"),
        pytest.param({"token_2": "x"}, "token_2", "Row 2: The token must be a whole number.", id="token in letters"),
        pytest.param({"pilot_2": ""}, "pilot_2", "Row 2: choose the pilot.", id="no pilot"),
        pytest.param({"out_2": ""}, "out_2", "Row 2: write when it went out, like 14:32.", id="no time out"),
        pytest.param({"out_2": "noon"}, "out_2", "Row 2: 'noon' is no time of day.", id="time out in words"),
        pytest.param({"out_2": "24:10"}, "out_2", "Row 2: '24:10' is no time of day.", id="hour 24"),
        pytest.param({"out_2": "14:61"}, "out_2", "Row 2: '14:61' is no time of day.", id="minute 61"),
        pytest.param({"out_2": "12345678901"}, "out_2", "10 characters at most", id="time too long"),
        pytest.param({"out_2": "17:30"}, "out_2", "Row 2: 17:30 is still to come.", id="out still to come"),
        pytest.param({"back_2": "18:00"}, "back_2", "Row 2: 18:00 is still to come.", id="in still to come"),
        pytest.param({"back_2": "14:05"}, "back_2", "Row 2: back at 14:05 is before out at 14:10.", id="in before out"),
        pytest.param({"mhz_2": "R3"}, "mhz_2", "Row 2: The MHz must be a whole number.", id="label for MHz"),
        pytest.param({"mhz_2": "58"}, "mhz_2", "Row 2: The MHz must be at least 1000.", id="MHz too low"),
        pytest.param({"token_2": "R1"}, "token_2", "Row 2: R1 is out at the same time in row 1.", id="token twice"),
        pytest.param(
            {"pilot_2": "Ana"}, "pilot_2", "Row 2: Ana has a token at the same time in row 1.", id="pilot twice"
        ),
        pytest.param({"token_2": "R8"}, "token_2", "Row 2: R8 was with Di from 14:00 to 14:30.", id="token was out"),
        pytest.param({"pilot_2": "Di"}, "pilot_2", "Row 2: Di had R8 from 14:00 to 14:30.", id="pilot had another"),
        pytest.param(
            {"token_2": "F1", "back_2": ""}, "back_2", "Row 2: F1 is marked missing", id="missing and still out"
        ),
        pytest.param(
            {"pilot_2": "Ed"}, "mhz_2", "'digital wide' of Ed can't make F5: type the MHz", id="can't make it"
        ),
        pytest.param(
            {"pilot_2": "Fay"}, "mhz_2", "nobody told which transmitter Fay has: type the MHz", id="no transmitter"
        ),
        pytest.param({"day": "2026-06-15"}, "day", "2026-06-15 is not a day of this meet.", id="a day to come"),
        pytest.param({"day": "2020-01-01"}, "day", "Give a day from 2026-06-13 to 2026-06-14.", id="long ago"),
        pytest.param({"day": "June"}, "day", "The day must be a date such as 2026-06-14.", id="no day"),
    ],
)
def test_a_bad_row_is_named_and_everything_typed_is_kept(
    changed: dict[str, str], field: str, sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Ed"]).kind_id = world.kinds["digital wide"]
        session.exec(
            select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Fay"])
        ).one().transmitter_id = None
        session.get_one(t.PilotTransmitter, world.transmitters["Fay"]).retired_at = NOON
        session.get_one(t.Token, world.tokens["F1"]).state = "missing"
        loan = t.Loan(
            meet_id=world.meet,
            token_id=world.tokens["R8"],
            pilot_id=world.pilots["Di"],
            out_at=NOON,
            in_at=NOON + timedelta(minutes=30),
            entered_at=NOON,
        )
        session.add(loan)
        session.commit()
    changed = {name: str(world.tokens.get(value, world.pilots.get(value, value))) for name, value in changed.items()}
    fields = {
        "day": "2026-06-14",
        **row(world, 1, "R1", "Ana", "14:05", "14:20"),
        **row(world, 2, "F5", "Bo", "14:10", "14:31"),
    } | changed
    marshal.open("/desk/paper")
    marshal.press(ENTER, **fields)
    assert marshal.status == 422
    assert sentence in marshal.text
    wrong = marshal.page.find(attrs={"name": field})
    assert wrong is not None
    assert wrong.get("aria-invalid") == "true"
    offered = {option["value"] for option in marshal.page.find_all("option")}
    for name, value in fields.items():
        if marshal.page.find("select", {"name": name}) is None or value in offered:
            assert field_value(marshal, name) == value
    assert len(all_loans(store)) == 1
    assert journal_kinds(store) == []


def test_several_bad_rows_are_all_named(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/paper")
    marshal.press(
        ENTER,
        **row(world, 1, "R1", "Ana", "never", "14:20"),
        **row(world, 2, "F5", "", "14:10", "14:31"),
        **row(world, 3, "R8", "Cy", "14:10", "14:31"),
    )
    assert "Row 1: 'never' is no time of day." in marshal.text
    assert "Row 2: choose the pilot." in marshal.text
    assert all_loans(store) == []


def test_an_empty_sheet_says_so(marshal: Surfer, world: World) -> None:
    marshal.open("/desk/paper")
    marshal.press(ENTER)
    assert marshal.status == 422
    assert "Nothing is filled in. Type at least one row." in marshal.text


@pytest.mark.parametrize(("asked", "shown"), [("3", 3), ("0", 1), ("-5", 1), ("999", 24)])
def test_the_page_offers_as_many_rows_as_asked_within_reason(asked: str, shown: int, marshal: Surfer) -> None:
    marshal.open(f"/desk/paper?rows={asked}")
    assert len(marshal.page.find_all("input", {"name": lambda name: bool(name and name.startswith("out_"))})) == shown


def test_more_rows_keep_what_was_typed(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/paper")
    marshal.press("24 rows", day="2026-06-13", **row(world, 2, "R1", "Ana", "14:05", "quarter past", "5658"))
    assert marshal.status == 200
    assert all_loans(store) == []
    assert field_value(marshal, "out_24") == ""
    typed = {"token_2": str(world.tokens["R1"]), "pilot_2": str(world.pilots["Ana"]), "day": "2026-06-13"}
    typed |= {"out_2": "14:05", "back_2": "quarter past", "mhz_2": "5658"}
    assert {name: field_value(marshal, name) for name in typed} == typed
    assert "24 rows" not in marshal.text
    marshal.press(ENTER, day="2026-06-14", back_2="14:20", **row(world, 24, "F5", "Bo", "14:10", "14:31"))
    assert "2 loans are entered, from paper." in marshal.text


def test_the_enter_key_still_enters_the_sheet(marshal: Surfer) -> None:
    marshal.open("/desk/paper")
    form, _more = marshal.form_with("24 rows")
    assert form.find("button").get_text() == ENTER  # a browser presses the first button of the form


@pytest.mark.parametrize(("link", "paper"), [("Loan sheet, A4", "a4"), ("Loan sheet, US Letter", "letter")])
def test_the_printed_sheet_has_tokens_cautions_and_who_is_out(
    marshal: Surfer, world: World, link: str, paper: str
) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    marshal.open("/desk/paper")
    marshal.follow(link)
    assert f'"loan-sheet-2026-06-14-{paper}.pdf"' in marshal.response.headers["content-disposition"]
    [page] = opened(marshal.response.content)
    words = text_of(page).split("\n")
    assert "June meet, Lower Meadow" in words
    assert "Tokens: R1 5658 (T1), F1 5740 (T2), F5 5820 (T3), R8 5917 (T4)" in words
    assert "No power before you hold the token." in words
    # The columns as the desk asks for them, and the loan that it knows already.
    at = words.index("Token")
    assert words[at : at + 5] == ["Token", "Pilot", "Out", "In", "Set to, MHz"]
    assert words[at + 5 : at + 10] == ["*", "R1", "Ana", "17:00", "R1, 5658"]
    assert words[at + 10 : -1] == [str(number) for number in range(1, len(words) - at - 10)]
