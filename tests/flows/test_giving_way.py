"""Pages let a deed pass while they are made; a deed waits for nobody, and a page not for ever."""

import asyncio
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from threading import Event

from meetapp.flows.giving_way import PIECES, Deeds, in_pieces
from tests.apart import run_apart

LONG_S = 60.0
PAGE = [str(at) for at in range(4 * PIECES)]


def test_a_page_stands_still_while_a_deed_is_done_and_goes_on_behind_it() -> None:
    deeds, has_begun, order = Deeds(LONG_S), Event(), list[str]()

    def pieces() -> Iterator[str]:
        yield PAGE[0]
        has_begun.wait(LONG_S)
        for piece in PAGE[1:]:
            order.append("piece")
            yield piece

    with ThreadPoolExecutor(1) as pool:
        page = pool.submit(lambda: "".join(deeds.between(pieces())))
        with deeds.one():
            has_begun.set()
            while order != ["piece"]:
                pass  # it makes the piece that it was at
            order.append("done")
        assert page.result(LONG_S) == "".join(PAGE)
    assert order.index("done") == 1


def test_phones_are_told_behind_a_deed_or_once_patience_is_lost() -> None:
    async def tell(deeds: Deeds) -> None:
        with deeds.one():
            telling = asyncio.create_task(deeds.let_pass_in_loop(LONG_S))
            await asyncio.sleep(0.01)
            assert not telling.done()
        assert 0 < await telling < LONG_S
        with deeds.one():
            assert await deeds.let_pass_in_loop(0.001) <= 0

    run_apart(tell(Deeds(LONG_S)))


def test_a_page_goes_on_though_a_deed_never_ends() -> None:
    for deeds in (Deeds(0.001), Deeds(LONG_S)):  # it held up long enough; the page has lost patience
        with deeds.one(), ThreadPoolExecutor(1) as pool:
            assert pool.submit(in_pieces, PAGE, deeds).result(LONG_S) == "".join(PAGE)


def test_the_page_that_a_deed_answers_with_doesnt_wait_for_it() -> None:
    deeds = Deeds(LONG_S)
    with deeds.one(), ThreadPoolExecutor(1) as pool:
        assert pool.submit(copy_context().run, deeds.let_pass, LONG_S).result(LONG_S) == LONG_S
    assert deeds.let_pass(LONG_S) == LONG_S


def test_the_last_of_several_deeds_lets_pages_go_on() -> None:
    deeds = Deeds(LONG_S)
    with deeds.one():
        with deeds.one():
            pass
        with ThreadPoolExecutor(1) as pool:
            assert pool.submit(deeds.let_pass, 0.01).result(LONG_S) < 0.01
