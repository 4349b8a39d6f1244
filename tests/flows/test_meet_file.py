"""The meet file: its schema, the way out and back with the same numbers, and what is refused by its place."""

import json
import shutil
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from sqlmodel import select

from meetapp.flows import access, journal
from meetapp.flows.files import meet_import
from meetapp.flows.files.meet_file import export_meet, meet_file_text
from meetapp.flows.files.meet_file_nameless import LEFT_OUT
from meetapp.flows.files.meet_file_reading import BadMeetFile, read_meet_file
from meetapp.flows.files.meet_file_refs import ROWS_BY_FACT
from meetapp.flows.files.meet_file_shape import schema_text
from meetapp.flows.heats import heats_page
from meetapp.flows.heats.heat_views import HeatView
from meetapp.flows.journal_sentences import SENTENCES
from meetapp.flows.planning import closing
from meetapp.flows.review import review
from meetapp.flows.review.minute import minute_view
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.acting import deed, journal_kinds
from tests.desk import ORGANISER, Desk
from tests.kept import kept_engine, lay
from tests.meet_day import close_it, fly_a_day, plan_heats
from tests.world import NOON, World, make_world

Content = dict[str, Any]


@pytest.fixture
def day(desk: Desk) -> Desk:
    """A closed meet with something of everything."""
    fly_a_day(desk)
    plan_heats(desk)
    close_it(desk)
    return desk


@pytest.fixture(scope="module")
def kept_day(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """The same, made once for the tests that only look at it."""
    store = Store(sqlite_url(tmp_path_factory.mktemp("kept") / "club.db"))
    t.metadata.create_all(store.engine)
    kept = Desk(store, make_world(store))
    fly_a_day(kept)
    plan_heats(kept)
    close_it(kept)
    yield kept
    store.close()


@pytest.fixture(scope="module")
def named_club(empty_database: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Path]]:
    """The file of another club that was only just named, and where its copies lie, one after the other."""
    folder = tmp_path_factory.mktemp("other")
    made, copy = folder / "made.db", folder / "club.db"
    shutil.copy(empty_database, made)
    store = Store(sqlite_url(made))
    secret = access.new_first_visit_link(store, NOON)
    assert secret is not None
    access.name_club(store, deed(ORGANISER), secret, "Hill Flyers", "long enough 1", "")
    store.close()
    with kept_engine(sqlite_url(copy)):
        yield made, copy


@pytest.fixture
def empty_club(named_club: tuple[Path, Path]) -> Iterator[Store]:
    """Another club that was only just named."""
    made, copy = named_club
    store = Store(sqlite_url(copy))
    lay(made, store, copy)
    yield store
    store.close()


def text_of(desk: Desk, **how: bool) -> str:
    return meet_file_text(export_meet(desk.store, desk.world.meet, desk.clock(), **how))


def read_back(store: Store, text: str) -> int:
    made = meet_import.import_meet(store, deed(ORGANISER), text).made_id
    assert made is not None
    return made


def without_ids_of(heat: HeatView) -> HeatView:
    """The same heat with nobody's ids."""
    return replace(heat, heat_id=0, seats=tuple(replace(seat, pilot_id=0) for seat in heat.seats))


def counted_rows(store: Store) -> dict[str, int]:
    """How many rows each table has, apart from operations."""
    with store.read() as session:
        return {
            str(table.name): len(session.execute(select(table)).all())
            for table in t.metadata.sorted_tables
            if table.name != "operation"
        }


class TestSchema:
    def test_the_documented_schema_is_the_shape_of_the_code(self) -> None:
        kept = files("meetapp.data").joinpath("meet_file.schema.json").read_text(encoding="utf-8")
        assert kept == schema_text(), "write meetapp/data/meet_file.schema.json anew from meet_file_shape.schema_text()"

    def test_an_exported_meet_fits_it(self, kept_day: Desk) -> None:
        schema = json.loads(schema_text())
        Draft202012Validator.check_schema(schema)
        validator = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
        for how in ({}, {"with_names": False}):
            assert [error.message for error in validator.iter_errors(json.loads(text_of(kept_day, **how)))] == []

    def test_it_describes_every_object(self) -> None:
        schema = json.loads(schema_text())
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert all(part["description"] for part in schema["$defs"].values())
        assert all(part["additionalProperties"] is False for part in schema["$defs"].values())

    def test_a_meet_that_is_not_closed_fits_it_too(self, desk: Desk) -> None:
        fly_a_day(desk)
        content = json.loads(text_of(desk))
        assert content["meet"]["state"] == "open"
        assert list(Draft202012Validator(json.loads(schema_text())).iter_errors(content)) == []


class TestOutAndBack:
    def test_an_empty_club_reads_the_same_numbers_and_gives_the_same_file(
        self, kept_day: Desk, empty_club: Store
    ) -> None:
        text = text_of(kept_day)
        meet_id = read_back(empty_club, text)
        told = review.review_facts(kept_day.store, kept_day.world.meet, kept_day.clock())
        read = review.review_facts(empty_club, meet_id, NOON)
        assert read.numbers == told.numbers
        assert [line.sentence for line in read.journal] == [line.sentence for line in told.journal]
        assert [line.is_undone for line in read.journal] == [line.is_undone for line in told.journal]
        without_ids = [replace(loan, loan_id=0, pilot_id=None) for loan in told.loans]
        assert [replace(loan, loan_id=0, pilot_id=None) for loan in read.loans] == without_ids
        assert (read.reports, read.alarms, read.pauses) == (told.reports, told.alarms, told.pauses)
        again = meet_file_text(export_meet(empty_club, meet_id, kept_day.clock()))
        assert again.replace("Hill Flyers", "Lower Meadow Flyers") == text

    def test_each_database_reads_it_back(self, any_desk: Desk) -> None:
        fly_a_day(any_desk)
        plan_heats(any_desk)
        close_it(any_desk)
        meet_id = read_back(any_desk.store, text_of(any_desk))
        told = review.review_facts(any_desk.store, any_desk.world.meet, any_desk.clock())
        assert review.review_facts(any_desk.store, meet_id, NOON).numbers == told.numbers

    def test_its_heats_are_the_same(self, kept_day: Desk, empty_club: Store) -> None:
        meet_id = read_back(empty_club, text_of(kept_day))
        told = heats_page.heats_page(kept_day.store, kept_day.world.meet, NOON)
        read = heats_page.heats_page(empty_club, meet_id, NOON)
        assert {heat.state for each in told.rounds for heat in each.heats} == {"planned", "flown", "voided"}
        assert [[without_ids_of(heat) for heat in each.heats] for each in read.rounds] == [
            [without_ids_of(heat) for heat in each.heats] for each in told.rounds
        ]
        assert read.plan == told.plan

    def test_a_file_of_version_1_has_no_heats_and_is_read(self, kept_day: Desk, empty_club: Store) -> None:
        content = json.loads(text_of(kept_day))
        assert content["version"] == 2
        assert content["heats"]
        assert content["heat_plans"]
        content["version"] = 1
        del content["heats"], content["heat_plans"]
        meet_id = read_back(empty_club, json.dumps(content))
        assert heats_page.heats_page(empty_club, meet_id, NOON).rounds == ()

    def test_its_minutes_are_the_same(self, kept_day: Desk, empty_club: Store) -> None:
        meet_id = read_back(empty_club, text_of(kept_day))
        for minute in range(0, 48, 5):
            written = f"14:{minute:02}"
            told = minute_view(kept_day.store, kept_day.world.meet, written, None, kept_day.clock())
            assert minute_view(empty_club, meet_id, written, None, NOON).parts == told.parts

    def test_what_the_club_has_is_used_and_what_it_lacks_stays_out_of_the_way(
        self, day: Desk, empty_club: Store
    ) -> None:
        read_back(empty_club, text_of(day))
        with empty_club.read() as session:
            assert {row.state for row in session.exec(select(t.Token))} == {"withdrawn"}
            assert all(row.retired_at for row in session.exec(select(t.Pilot)))
            assert all(row.retired_at for row in session.exec(select(t.Site)))
            kind = session.exec(select(t.TransmitterKind).where(t.TransmitterKind.name == "analogue 40")).one()
            assert kind.retired_at
        before = counted_rows(day.store)
        read_back(day.store, text_of(day))
        after = counted_rows(day.store)
        unchanged = ("pilot", "pilot_transmitter", "transmitter_kind", "site", "token", "band_profile", "channel_plan")
        assert {name: after[name] for name in unchanged} == {name: before[name] for name in unchanged}
        assert after["meet"] == before["meet"] + 1

    def test_a_setting_card_comes_along_and_older_files_have_none(self, day: Desk, empty_club: Store) -> None:
        card = "switches 2 down\nR1 01"
        with day.store.write() as session:
            session.exec(select(t.TransmitterKind)).first().setting_card = card  # type: ignore[union-attr]
            session.commit()
        content = json.loads(text_of(day))
        assert [kind.pop("setting_card") for kind in content["kinds"]].count(card) == 1
        read_back(empty_club, json.dumps(content))
        with empty_club.read() as session:
            assert card not in session.exec(select(t.TransmitterKind.setting_card)).all()
        fresh = text_of(day).replace('"analogue 40"', '"analogue 41"')
        read_back(empty_club, fresh)
        with empty_club.read() as session:
            assert card in session.exec(select(t.TransmitterKind.setting_card)).all()

    def test_a_second_copy_gives_the_same_file(self, day: Desk) -> None:
        text = text_of(day)
        assert meet_import.preview(day.store, text).is_here_already
        meet_id = read_back(day.store, text)
        assert meet_file_text(export_meet(day.store, meet_id, day.clock())) == text

    def test_a_resend_reads_it_once(self, kept_day: Desk, empty_club: Store) -> None:
        text = text_of(kept_day)
        first = meet_import.import_meet(empty_club, deed(ORGANISER, key="the-same-key"), text)
        assert meet_import.import_meet(empty_club, deed(ORGANISER, key="the-same-key"), text) == first
        assert journal_kinds(empty_club).count("meet_imported") == 1

    def test_two_pilots_of_one_name_stay_two(self, kept_day: Desk, empty_club: Store) -> None:
        content = json.loads(text_of(kept_day))
        for pilot in content["pilots"]:
            pilot["name"] = pilot["board_name"] = "Tom"
        read_back(empty_club, json.dumps(content))
        read_back(empty_club, json.dumps(content))
        assert counted_rows(empty_club)["pilot"] == len(content["pilots"])

    def test_a_code_that_is_another_token_here_gets_a_number(self, kept_day: Desk, empty_club: Store) -> None:
        with empty_club.write() as session:
            session.add(t.Token(code="t1", label="A1", nominal_mhz=5865, state_since=NOON))
            session.commit()
        assert meet_import.preview(empty_club, text_of(kept_day)).renamed == ("T1",)
        read_back(empty_club, text_of(kept_day))
        with empty_club.read() as session:
            assert {row.code for row in session.exec(select(t.Token))} == {"t1", "T1-2", "T2", "T3", "T4"}

    def test_a_plan_of_its_own_comes_along(self, kept_day: Desk, empty_club: Store) -> None:
        content = json.loads(text_of(kept_day))
        content["plans"].append(
            {
                "letter": "Q",
                "name": "the club's own",
                "source": "invented",
                "is_published": False,
                "channels": [{"number": 1, "mhz": 5671}],
            }
        )
        content["kinds"][0]["tuning"] += " Q"
        read_back(empty_club, json.dumps(content))
        with empty_club.read() as session:
            assert session.exec(select(t.ChannelPlanRow).where(t.ChannelPlanRow.letter == "Q")).one()

    def test_the_preview_changes_nothing_and_counts_what_the_import_does(
        self, kept_day: Desk, empty_club: Store
    ) -> None:
        before = counted_rows(empty_club)
        preview = meet_import.preview(empty_club, text_of(kept_day))
        assert counted_rows(empty_club) == before
        assert (preview.name, preview.pilots, preview.loans, preview.reports) == ("June meet", 6, 5, 2)
        assert preview.new_pilots == ("Ana", "Bo", "Cy", "Di", "Ed", "Fay")
        assert preview.new_tokens == ("R1 (T1)", "F1 (T2)", "F5 (T3)", "R8 (T4)")
        assert not preview.is_here_already
        read_back(empty_club, text_of(kept_day))
        after = counted_rows(empty_club)
        assert after["pilot"] - before["pilot"] == len(preview.new_pilots)
        assert after["token"] - before["token"] == len(preview.new_tokens)
        assert after["transmitter_kind"] - before["transmitter_kind"] == len(preview.new_kinds)


class TestWithoutNames:
    def test_nobody_is_named_and_the_numbers_stay(self, kept_day: Desk, empty_club: Store) -> None:
        text = text_of(kept_day, with_names=False)
        content = json.loads(text)
        assert content["has_names"] is False
        for name in ("Ana", "Bo", "Cy", "Di", "Ed", "Fay", "Mo", "line camera", "second gate", "can't do"):
            assert f'"{name}' not in text
            assert f" {name}" not in text
        assert content["pilots"][0]["board_name"] == "pilot 1"
        assert {loan["holder_name"] for loan in content["loans"]} == {"", "ground 1"}
        assert {line["actor_name"] for line in content["journal"]} == {"marshal 1", "organiser"}
        told = review.review_facts(kept_day.store, kept_day.world.meet, kept_day.clock()).numbers
        assert review.review_facts(empty_club, read_back(empty_club, text), NOON).numbers == told

    def test_an_override_still_shows_as_one(self, kept_day: Desk) -> None:
        content = json.loads(text_of(kept_day, with_names=False))
        assert [loan["override_reason"] for loan in content["loans"] if loan["override_reason"]] == [LEFT_OUT]


def test_every_id_among_the_facts_of_a_day_is_known_as_one(kept_day: Desk) -> None:
    """A number in a fact is an id that the file must translate, or a figure: a new one has to be put on one side."""
    figures = {"minutes", "count", "heats", "rounds", "pilots", "size", "changes", "round", "number", "pad"}
    for line in kept_day.rows(t.JournalLine, meet_id=kept_day.world.meet):
        for name, value in line.facts.items():
            if isinstance(value, int | float) and not isinstance(value, bool):
                is_figure = name in figures or not {"mhz", "mw"}.isdisjoint(name.split("_"))
                assert is_figure or name in ROWS_BY_FACT, (line.kind, name)


def test_every_known_kind_can_be_read_back(kept_day: Desk, empty_club: Store) -> None:
    """A journal line of each kind there is, without its facts: the sentence may have gaps, the page may not break."""
    content = json.loads(text_of(kept_day))
    line = content["journal"][-1] | {"undoes": None, "actor_pilot": None, "facts": {}}
    start = len(content["journal"]) + 1
    content["journal"] += [line | {"ref": ref, "kind": kind} for ref, kind in enumerate(SENTENCES, start=start)]
    meet_id = read_back(empty_club, json.dumps(content))
    assert len(journal.lines(empty_club, meet_id)) == len(content["journal"])


def put(*path: str | int, value: Any) -> Callable[[Content], None]:
    """Set the value at a place of the file."""

    def step(content: Content) -> None:
        target: Any = content
        for key in path[:-1]:
            target = target[key]
        target[path[-1]] = value

    return step


def drop(*path: str | int) -> Callable[[Content], None]:
    """Take the value at a place away."""

    def step(content: Content) -> None:
        target: Any = content
        for key in path[:-1]:
            target = target[key]
        del target[path[-1]]

    return step


def twice(*path: str | int) -> Callable[[Content], None]:
    """Put the first row of a list there a second time."""

    def step(content: Content) -> None:
        rows: Any = content
        for key in path:
            rows = rows[key]
        rows.append(deepcopy(rows[0]))

    return step


EARLY, LATE = "2026-06-14T11:00:00Z", "2026-06-14T18:00:00Z"
BAD = [
    pytest.param(put("version", value=3), "of version 3; this program reads up to 2", id="newer version"),
    pytest.param(put("version", value=True), "reads up to 2", id="version of another type"),
    pytest.param(put("format", value="a table"), "its format must be", id="another format"),
    pytest.param(drop("meet"), "meet is missing", id="no meet"),
    pytest.param(put("meet", value=[]), "meet must be an object", id="meet is a list"),
    pytest.param(put("loans", value={}), "loans must be a list", id="loans are an object"),
    pytest.param(put("meet", "state", value="open"), "only a closed meet can be read back", id="open meet"),
    pytest.param(put("meet", "closed_at", value=None), "must both be there", id="never closed"),
    pytest.param(put("meet", "closed_at", value=EARLY), "meet.closed_at lies before", id="closed before opened"),
    pytest.param(
        put("meet", "fly_at_once", value="6"), "meet.fly_at_once must be a whole number", id="text for a number"
    ),
    pytest.param(put("meet", "fly_at_once", value=10**30), "meet.fly_at_once", id="huge whole number"),
    pytest.param(put("meet", "on_date", value="14 June"), "meet.on_date must be a date", id="no date"),
    pytest.param(put("meet", "signals", value="three"), "meet.signals must be 'both' or 'two'", id="no such answer"),
    pytest.param(put("meet", "name", value=""), "meet.name must not be empty", id="no name"),
    pytest.param(put("meet", "name", value="x" * 201), "meet.name is too long", id="name too long"),
    pytest.param(put("meet", "name", value="a\x00b"), "meet.name has characters", id="control sign in a name"),
    pytest.param(put("meet", "pin", value="482913"), "meet.pin is no part of a meet file", id="a field too many"),
    pytest.param(put("site", "time_zone", value="Middle/Earth"), "no time zone that this machine knows", id="no zone"),
    pytest.param(put("site", "time_zone", value="../../etc/passwd"), "no time zone", id="a path as a zone"),
    pytest.param(
        put("site", "band_profile", "segments", 0, "low_mhz", value=6000),
        "segments[0]: 6000-5960 runs backwards",
        id="band edges",
    ),
    pytest.param(put("kinds", 0, "tuning", value="A B Z9"), "kinds[0].tuning: 'Z9' is no plan", id="no such channel"),
    pytest.param(
        put("kinds", 0, "setting_card", value="switches 2 up\nR1 0"),
        "kinds[0].setting_card: R1: one place for each switch makes 2.",
        id="no setting card",
    ),
    pytest.param(put("kinds", 0, "width_mhz", value=0.3), "kinds[0].width_mhz must go in steps of 0.5", id="odd width"),
    pytest.param(twice("kinds"), "kinds[1].name 'analogue 40' stands there twice", id="a kind twice"),
    pytest.param(twice("tokens"), "tokens[4].code 'T1' stands there twice", id="a token twice"),
    pytest.param(twice("plans"), "plans[5].letter 'A' stands there twice", id="a plan twice"),
    pytest.param(
        put("pilots", 0, "transmitters", 0, "kind", value=77),
        "pilots[0].transmitters[0].kind points at number 77",
        id="no kind",
    ),
    pytest.param(
        put("pilots", 0, "attendance", "transmitter", value=2), "pilots[0].attendance.transmitter", id="another's kit"
    ),
    pytest.param(
        put("loans", 0, "token", value=99), "loans[0].token points at number 99 of tokens", id="unknown token"
    ),
    pytest.param(
        put("loans", 0, "pilot", value=99), "loans[0].pilot points at number 99 of pilots", id="unknown pilot"
    ),
    pytest.param(put("loans", 0, "token", value=None), "a pilot's loan has a token", id="pilot without a token"),
    pytest.param(put("loans", 0, "in_at", value=EARLY), "loans[0].in_at lies before its out_at", id="back before out"),
    pytest.param(put("loans", 0, "in_at", value=None), "loans[0].in_at is missing", id="still out"),
    pytest.param(put("loans", 0, "in_at", value=LATE), "overlaps loans[0]", id="two loans at once"),
    pytest.param(
        put("loans", 0, "out_at", value="2026-06-14T12:00:00"), "must be a time with its zone", id="no zone on a time"
    ),
    pytest.param(put("loans", 0, "out_at", value=1781430000), "must be a time with its zone", id="a time as a number"),
    pytest.param(
        put("loans", 0, "out_at", value="0001-01-01T00:00:00Z"), "must lie in the years 2000 to 2199", id="year 1"
    ),
    pytest.param(put("loans", 0, "settings", value=[]), "loans[0].settings are missing", id="nothing set"),
    pytest.param(
        put("loans", 0, "settings", 0, "mhz", value=580), "settings[0].mhz must be at least 4800", id="no frequency"
    ),
    pytest.param(
        put("loans", 0, "settings", 0, "until_at", value=None), "until_at is missing", id="setting without end"
    ),
    pytest.param(
        put("loans", 0, "settings", 1, "until_at", value=LATE),
        "settings[1] reaches beyond its loan",
        id="setting too long",
    ),
    pytest.param(
        put("loans", 0, "settings", 0, "transmitter", value=5), "isn't one of that pilot's", id="another's transmitter"
    ),
    pytest.param(put("line", 0, "left_at", value=None), "line[0].left_at is missing", id="still waiting"),
    pytest.param(put("pauses", 0, "ended_at", value=EARLY), "pauses[0].ended_at lies before", id="pause backwards"),
    pytest.param(
        put("alarms", 0, "kind", value="flood"), "alarms[0].kind must be 'stray' or 'down'", id="no such alarm"
    ),
    pytest.param(
        put("sharing", 0, "partner", value=2), "sharing[0].partner is the pilot themself", id="shares with themself"
    ),
    pytest.param(put("reports", 0, "look", value="odd"), "reports[0].look must be", id="no such look"),
    pytest.param(
        put("reports", 0, "window_s", value=-1), "reports[0].window_s must be at least 0", id="negative window"
    ),
    pytest.param(put("heats", 0, "plan", value=9), "heats[0].plan points at number 9 of heat_plans", id="no such plan"),
    pytest.param(put("heats", 0, "state", value="lost"), "heats[0].state must be", id="no such state of a heat"),
    pytest.param(put("heats", 0, "again_for", value=2), "again_for must be an earlier heat", id="repeats a later heat"),
    pytest.param(put("heats", 0, "landed_at", value=EARLY), "lies before its called_at", id="landed before it began"),
    pytest.param(
        put("heats", 0, "seats", 0, "pilot", value=99), "seats[0].pilot points at number 99", id="nobody's seat"
    ),
    pytest.param(
        put("heats", 0, "seats", 0, "transmitter", value=6), "not one of that pilot's", id="a seat with another's kit"
    ),
    pytest.param(twice("heats", 0, "seats"), "has 2 of them", id="two seats in one heat"),
    pytest.param(twice("heats"), "stands there twice", id="a heat twice"),
    pytest.param(
        put("heat_plans", 0, "ended_at", value=None), "more than one has neither an end", id="two plans at once"
    ),
    pytest.param(
        put("journal", 0, "kind", value="teleported"), "journal[0].kind 'teleported' isn't known", id="no such kind"
    ),
    pytest.param(
        put("journal", 0, "facts", "pilot", value="Ana"), "journal[0].facts.pilot must be a ref", id="a name for a ref"
    ),
    pytest.param(
        put("journal", 0, "facts", "pilot", value=99), "journal[0].facts points at number 99", id="dangling fact"
    ),
    pytest.param(
        put("journal", 0, "facts", "line", value=1),
        "journal[0].facts points at number 1 of journal",
        id="a line on itself",
    ),
    pytest.param(
        put("journal", 0, "facts", "note", value={"a": 1}),
        "journal[0].facts.note must be a text",
        id="an object as a fact",
    ),
    pytest.param(put("journal", 0, "undoes", value=1), "journal[0].undoes must be an earlier line", id="undoes itself"),
]


class TestRefusals:
    @pytest.mark.parametrize(("spoil", "words"), BAD)
    def test_a_bad_file_is_refused_by_its_place_and_nothing_changes(
        self, kept_day: Desk, spoil: Callable[[Content], None], words: str
    ) -> None:
        content = json.loads(text_of(kept_day))
        spoil(content)
        before = counted_rows(kept_day.store)
        with pytest.raises(BadMeetFile) as refused:
            meet_import.import_meet(kept_day.store, deed(ORGANISER), json.dumps(content))
        assert any(words in problem for problem in refused.value.problems), refused.value.problems
        assert refused.value.sentence.endswith("Nothing was changed.")
        assert counted_rows(kept_day.store) == before

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            pytest.param("", "This is no JSON", id="empty"),
            pytest.param('{"format": "meetapp meet file", "vers', "This is no JSON", id="cut off"),
            pytest.param("name,kind\nAna,analogue", "This is no JSON", id="a CSV"),
            pytest.param("[]", "no meet file", id="a list"),
            pytest.param("null", "no meet file", id="nothing"),
            pytest.param("[" * 100_000, "This is no JSON", id="very deep"),
            pytest.param(
                '{"format": "meetapp meet file", "version": ' + "9" * 4000 + "}", "one it can't read", id="huge version"
            ),
            pytest.param('{"format": "meetapp meet file", "version": 1}', "is missing", id="nothing else"),
            pytest.param('{"format": "\\ud800"}', "This is no JSON", id="half a sign"),
        ],
    )
    def test_a_text_that_is_no_meet_file(self, store: Store, world: World, text: str, words: str) -> None:
        with pytest.raises(BadMeetFile) as refused:
            meet_import.preview(store, text)
        assert words in refused.value.message
        assert len(refused.value.problems) <= 10

    def test_a_kind_that_would_mean_something_else_here(self, kept_day: Desk, empty_club: Store) -> None:
        content = json.loads(text_of(kept_day))
        content["plans"][0]["channels"][0]["mhz"] = 5999
        with pytest.raises(BadMeetFile, match="means other frequencies with this club's channel plans"):
            meet_import.preview(empty_club, json.dumps(content))

    def test_a_cut_file_is_refused_wherever_it_is_cut(self, kept_day: Desk) -> None:
        text = text_of(kept_day)
        for end in range(0, len(text) - 3, 997):
            with pytest.raises(BadMeetFile):
                read_meet_file(text[:end])

    def test_a_meet_with_open_loans_is_exported_but_not_read(self, desk: Desk) -> None:
        fly_a_day(desk)
        assert closing.closing_page(desk.store, desk.world.meet).still_out
        with pytest.raises(BadMeetFile, match="Close it, then export it again"):
            meet_import.preview(desk.store, text_of(desk))


JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=5),
    st.just([]),
    st.just({}),
    st.just("2026-06-14T12:00:00Z"),
)


def places(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every place in the file."""
    if path:
        yield path
    steps: Any = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in steps:
        yield from places(inner, (*path, key))


def test_whatever_is_put_anywhere_is_read_or_refused_by_a_sentence(kept_day: Desk, empty_club: Store) -> None:
    text = text_of(kept_day)
    content = json.loads(text)
    every = sorted(places(content), key=str)

    @settings(max_examples=60, deadline=None, database=None)
    @given(st.sampled_from(every), JUNK)
    def spoil_and_read(path: tuple[str | int, ...], value: Any) -> None:
        spoiled = deepcopy(content)
        put(*path, value=value)(spoiled)
        try:
            meet_id = read_back(empty_club, json.dumps(spoiled))
        except BadMeetFile:
            return
        facts = review.review_facts(empty_club, meet_id, NOON)
        assert facts.state == "closed"
        export_meet(empty_club, meet_id, NOON)
        heats_page.heats_page(empty_club, meet_id, NOON)

    spoil_and_read()
