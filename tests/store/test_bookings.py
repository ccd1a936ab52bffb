"""Orders and the stock that they hold: the last machine goes to one of those who want it."""

import random
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from race import order

from coldwright.store import Database
from coldwright.store.bookings import (
    Filter,
    Period,
    StockTaken,
    get_booking,
    list_bookings,
    present,
    put_booking,
    taken,
)
from coldwright.store.conditions import Changed, Condition, Unconditional
from coldwright.store.records import get_record

ANY = Condition()
MAY, JUNE = Period("2026-05-01", "2026-05-31"), Period("2026-06-01", "2026-06-30")


def test_revisions_stay(database: Database) -> None:
    first, done = put_booking(database, "acme", "r", order("one", MAY, 1, 3), ANY)
    assert (first.revision, done) == (1, "created")
    assert put_booking(database, "acme", "r", order("one", MAY, 1, 3), ANY) == (first, "unchanged")
    with pytest.raises(Unconditional):
        put_booking(database, "acme", "r", order("two", MAY, 1, 3), ANY)
    with pytest.raises(Changed):
        put_booking(database, "acme", "r", order("two", MAY, 1, 3), Condition(("old",)))
    second, done = put_booking(database, "acme", "r", order("two", JUNE, 2, 3), Condition((first.etag,)))
    assert (second.revision, done) == (2, "changed")
    head = present(database, "acme", "r")
    assert head == second
    assert (head.state_at(head.updated_at), head.standing) == ("held", 2)
    for revision, document in ((1, b"one"), (2, b"two")):
        found = get_booking(database, "acme", "r", revision)
        assert found is not None
        assert found.document == document
        assert get_record(database, "acme", found.digest) is not None
    assert get_booking(database, "acme", "r", 3) is None
    assert present(database, "other", "r") is None


def test_a_changed_order_gives_back_what_it_held(database: Database) -> None:
    first, _ = put_booking(database, "acme", "r", order("one", MAY, 3, 3), ANY)
    assert taken(database, "acme", "yard", MAY, "another") == {"chiller": 3}
    put_booking(database, "acme", "r", order("two", JUNE, 1, 3), Condition((first.etag,)))
    assert taken(database, "acme", "yard", MAY, "another") == {}
    assert taken(database, "acme", "yard", JUNE, "another") == {"chiller": 1}
    assert taken(database, "acme", "yard", JUNE, "r") == {}
    assert taken(database, "other", "yard", JUNE, "another") == {}
    assert taken(database, "acme", "other yard", JUNE, "another") == {}


def test_the_first_and_the_last_day_both_count(database: Database) -> None:
    put_booking(database, "acme", "r", order("one", Period("2026-05-10", "2026-05-20"), 1, 1), ANY)
    for first, last, held in (
        ("2026-05-01", "2026-05-09", 0),
        ("2026-05-01", "2026-05-10", 1),
        ("2026-05-20", "2026-05-30", 1),
        ("2026-05-21", "2026-05-30", 0),
        ("2026-05-12", "2026-05-13", 1),
        ("2026-01-01", "2026-12-31", 1),
    ):
        found = taken(database, "acme", "yard", Period(first, last), "another")
        assert found.get("chiller", 0) == held, (first, last)


def test_what_is_gone_meanwhile_is_not_taken(database: Database) -> None:
    put_booking(database, "acme", "r1", order("one", MAY, 2, 3), ANY)
    with pytest.raises(StockTaken):
        put_booking(database, "acme", "r2", order("two", MAY, 2, 3), ANY)
    assert present(database, "acme", "r2") is None
    put_booking(database, "acme", "r2", order("two", MAY, 1, 3), ANY)
    put_booking(database, "other", "r2", order("two", MAY, 3, 3), ANY)
    put_booking(database, "acme", "r3", order("three", JUNE, 3, 3), ANY)


def test_the_list_is_filtered_and_paged(database: Database) -> None:
    for number, period in enumerate((JUNE, MAY, MAY, JUNE)):
        put_booking(database, "acme", f"r{number}", order(f"o{number}", period, 0, 9), ANY)
    everything = list_bookings(database, "acme", Filter(), (), 10)
    assert [b.reference for b in everything] == ["r1", "r2", "r0", "r3"]
    after = (everything[1].period.first, everything[1].reference)
    assert [b.reference for b in list_bookings(database, "acme", Filter(), after, 1)] == ["r0"]
    may = list_bookings(database, "acme", Filter(last="2026-05-31"), (), 10)
    assert [b.reference for b in may] == ["r1", "r2"]
    june = list_bookings(database, "acme", Filter(first="2026-06-01"), (), 10)
    assert [b.reference for b in june] == ["r0", "r3"]
    assert list_bookings(database, "acme", Filter(site="elsewhere"), (), 10) == []
    assert list_bookings(database, "acme", Filter(outcome="unacceptable"), (), 10) == []
    assert list_bookings(database, "other", Filter(), (), 10) == []


@pytest.mark.parametrize("seed", range(3))
def test_threads_never_take_more_than_there_is(database: Database, seed: int) -> None:
    wishes = [random.Random(seed).randint(1, 3) for _ in range(12)]
    won: list[int] = []
    errors: list[BaseException] = []

    def book(number: int, wish: int) -> None:
        try:
            put_booking(database, "acme", f"r{number}", order(f"o{number}", MAY, wish, 5), ANY)
            won.append(wish)
        except StockTaken:
            pass
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=book, args=pair) for pair in enumerate(wishes)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert sum(won) <= 5
    assert sum(won) > 5 - max(wishes), "somebody was refused what was still there"
    assert taken(database, "acme", "yard", MAY, "") == {"chiller": sum(won)}


def test_processes_never_take_more_than_there_is(database: Database) -> None:
    script = Path(__file__).parents[1] / "support" / "race.py"
    address = database.url.render_as_string(hide_password=False)
    racers = [
        subprocess.Popen([sys.executable, str(script), address, f"p{n}", "5"], stdout=subprocess.PIPE, text=True)
        for n in range(4)
    ]
    won = [line for racer in racers for line in racer.communicate(timeout=120)[0].split()]
    assert [racer.returncode for racer in racers] == [0] * 4
    assert len(won) == len(set(won)) == 5
    assert taken(database, "acme", "yard", MAY, "") == {"chiller": 5}
    assert {b.reference for b in list_bookings(database, "acme", Filter(), (), 100)} == set(won)
