"""Backup and restore: every row comes back, in either database, from either; a damaged file restores nothing."""

import gzip
import re
import stat
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from postgres import new_database
from race import order
from sqlalchemy import select

from coldwright.cli import main
from coldwright.store import Database, upgrade
from coldwright.store.archive import LEFT_OUT, BadArchive, NotEmpty, backup, restore, tables
from coldwright.store.bookings import Period, Taking, put_booking
from coldwright.store.bookings.life import Step, move_booking
from coldwright.store.conditions import Condition
from coldwright.store.fleets import list_fleets, put_fleet
from coldwright.store.forecasts import Day, Place, days_at, get_forecast, put_forecast
from coldwright.store.jobs import New, create_job
from coldwright.store.keys import create_key, find_key, revoke_key
from coldwright.store.machines import Machine, put_machine
from coldwright.store.observations import Arriving, add_observations
from coldwright.store.plugin_ids import register
from coldwright.store.schedules import Plan, list_schedules, put_schedule
from coldwright.store.sessions import open_session, whose_session
from coldwright.store.startups import Change, put_startup
from coldwright.store.verdicts import NewVerdict, keep_verdict
from coldwright.store.webhooks import put_webhook, queue_events
from coldwright.store.windows import add, window

Rows = dict[str, list[tuple[object, ...]]]
BYTES = bytes(range(256))
DAYS = [
    Day(0, Place(site="north ö"), "2026-05-02", hottest=41.5, wind=3.25, forecast="sky"),
    Day(1, Place(latitude=52.1, longitude=-3.9, reach=12.5), "2026-05-03", coldest=-4.0, gust=21.0, forecast="sky"),
]


def fill(database: Database) -> str:
    """Rows in every table; returns the secret of a key."""
    _, secret = create_key(database, "acme", ("book", "field"), "yard ö")
    gone, _ = create_key(database, "other", ("admin",))
    revoke_key(database, gone.id)
    put_fleet(database, "acme", "yard", BYTES, Condition())
    for number in range(700):
        put_fleet(database, "acme", f"f{number:04d}", b"%d" % number, Condition()) if number % 10 == 0 else None
    wanted = order("one", Period("2026-05-01", "2026-05-31"), 2, 3)
    taking = Taking({"machine:chiller": 2}, {"machine:chiller": 3})
    put_booking(database, "acme", "r1", replace(wanted, labels={"region": "north ö"}, taking=taking), Condition())
    put_machine(database, "acme", "yard", Machine("M-1", "chiller", "in_service"), 3, Condition())
    move_booking(database, "acme", "r1", Step("confirm", caller="ann"), Condition())
    put_webhook(database, "acme", "w", "https://orders.example.com/", (), Condition())
    put_fleet(database, "acme", "last", BYTES, Condition())
    queue_events(database)
    put_schedule(database, "acme", "mornings", Plan(daily_at="05:30", site="north ö"), Condition())
    put_schedule(database, "acme", "with-the-sky", Plan(forecast="sky"), Condition())
    put_forecast(database, "acme", "sky", BYTES, DAYS, Condition())
    put_startup(database, "acme", "s", BYTES, Condition(), Change(names=("loop:north",)))
    add_observations(database, "acme", "s", [Arriving(f"o{n}", BYTES + b"%d" % n) for n in range(1200)], 5000)
    register(database, {"tank.ride_through": "coldwright-tank"})
    keep_verdict(database, "acme", "s", NewVerdict(3, "ready", "m", BYTES), "ann")
    create_job(database, "acme", New("j", "electrical.service", "metric", [("a", BYTES)], "once", "f" * 64))
    return secret


def rows(database: Database) -> Rows:
    with database.reading() as connection:
        return {
            t.name: [tuple(r) for r in connection.execute(select(t).order_by(*t.primary_key.columns))] for t in tables()
        }


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def target(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """An empty database to restore into, of either kind."""
    database = Database(f"sqlite:///{tmp_path}/target.sqlite3" if request.param == "sqlite" else new_database())
    yield database
    database.close()


def test_everything_comes_back_in_either_database(database: Database, target: Database, tmp_path: Path) -> None:
    secret = fill(database)
    file = tmp_path / "store.backup"
    count = backup(database, file)
    before = rows(database)
    assert all(before.values()), [name for name, found in before.items() if not found]
    assert count == sum(map(len, before.values()))
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert restore(target, file) == count
    assert rows(target) == before
    found = find_key(target, secret)
    assert found is not None
    assert found.tenant == "acme"
    again = tmp_path / "again.backup"
    backup(target, again)
    lines = [gzip.decompress(f.read_bytes()).split(b"\n", 1)[1] for f in (file, again)]
    assert lines[0] == lines[1]


def test_the_sky_is_looked_at_after_a_restore_as_before(database: Database, target: Database, tmp_path: Path) -> None:
    """Forecasts and schedules as their readers see them: which days touch a booking, and what runs next."""
    fill(database)
    backup(database, tmp_path / "store.backup")
    restore(target, tmp_path / "store.backup")
    forecast = get_forecast(target, "acme", "sky")
    assert forecast is not None
    assert (forecast.document, forecast.first, forecast.last) == (BYTES, "2026-05-02", "2026-05-03")
    may = Period("2026-05-01", "2026-05-31")
    assert days_at(target, "acme", "North Ö", None, None, may) == DAYS[:1]
    assert days_at(target, "acme", "", 52.1, -3.9, may) == DAYS[1:]
    assert days_at(target, "other", "North Ö", 52.1, -3.9, may) == []
    kept = list_schedules(target, "acme", "", 10)
    assert kept == list_schedules(database, "acme", "", 10)
    assert [(s.id, s.next_at is not None, s.last_at is not None) for s in kept] == [
        ("mornings", True, False),
        ("with-the-sky", False, True),
    ]


def test_what_is_left_out_of_an_archive_is_in_no_one_s_way(
    database: Database, target: Database, tmp_path: Path
) -> None:
    """Counts of a minute and sessions stay where they are: they are not carried, and do not make a store a full one."""
    assert {t.name for t in LEFT_OUT} == {"locks", "probes", "rate_windows", "sessions"}
    assert all(LEFT_OUT.values())
    secret = fill(database)
    upgrade(target)
    opened = open_session(database, secret)
    assert opened is not None
    for where, amount in ((database, 3), (target, 5)):
        add(where, "acme/minute", amount, 60.0, 1000.0)
    backup(database, tmp_path / "store.backup")
    restore(target, tmp_path / "store.backup")
    counted = window(target, "acme/minute")
    assert counted is not None
    assert counted.count == 5
    assert whose_session(database, opened[1]) is not None
    assert whose_session(target, opened[1]) is None, "the key came along, the session did not"
    assert find_key(target, secret) is not None


def test_a_full_store_is_left_alone(database: Database, tmp_path: Path) -> None:
    put_fleet(database, "acme", "yard", b"1", Condition())
    file = tmp_path / "store.backup"
    backup(database, file)
    with pytest.raises(NotEmpty):
        restore(database, file)
    assert list_fleets(database, "acme", "", 10) == [("yard", 1)]


def _without_last_line(text: bytes) -> bytes:
    return text[: text.rstrip(b"\n").rfind(b"\n") + 1]


def _without_second_row(text: bytes) -> bytes:
    lines = text.split(b"\n")
    return b"\n".join(lines[:2] + lines[3:])


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "cut-off": lambda packed: packed[: len(packed) // 2],
    "without-foot": lambda packed: gzip.compress(_without_last_line(gzip.decompress(packed))),
    "one-row-less": lambda packed: gzip.compress(_without_second_row(gzip.decompress(packed))),
    "changed": lambda packed: gzip.compress(gzip.decompress(packed).replace(b"acme", b"evil")),
    "other-schema": lambda packed: gzip.compress(gzip.decompress(packed).replace(b'"revision":"', b'"revision":"9')),
    "no-archive": lambda _: b"hello",
    "other-json": lambda _: gzip.compress(b'{"a":1}\n'),
    "flipped-bit": lambda packed: packed[:40] + bytes([packed[40] ^ 4]) + packed[41:],
    "no-row": lambda packed: gzip.compress(gzip.decompress(packed).replace(b'["fleets",[', b'["fleets",5,[')),
    "no-instant": lambda packed: gzip.compress(re.sub(rb'"20[0-9T:.Z-]{10,}"\]\]', b'"soon"]]', gzip.decompress(packed))),
    "nothing-there": lambda packed: gzip.compress(gzip.decompress(packed).replace(b'"acme"', b"null")),
    "row-twice": lambda packed: gzip.compress(gzip.decompress(packed).replace(b'"acme","b"', b'"acme","a"')),
    "unknown-table": lambda packed: gzip.compress(gzip.decompress(packed).replace(b'["fleets"', b'["boats"')),
}  # fmt: skip


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_archive_restores_nothing(target: Database, tmp_path: Path, damage: str) -> None:
    source = Database(f"sqlite:///{tmp_path}/source.sqlite3")
    upgrade(source)
    for name in ("a", "b", "c"):
        put_fleet(source, "acme", name, b"1", Condition())
    file = tmp_path / "store.backup"
    backup(source, file)
    source.close()
    file.write_bytes(DAMAGE[damage](file.read_bytes()))
    with pytest.raises(BadArchive):
        restore(target, file)
    assert not any(rows(target).values())


def test_it_is_the_state_of_one_moment_while_others_write(database: Database, target: Database, tmp_path: Path) -> None:
    """Each writer puts a fleet and then its twin: an archive never has a twin without the first."""
    stop = threading.Event()

    def write() -> None:
        number = 0
        while not stop.is_set():
            put_fleet(database, "acme", f"z{number}", b"1", Condition())
            put_fleet(database, "acme", f"a{number}", b"1", Condition())
            number += 1

    thread = threading.Thread(target=write)
    thread.start()
    try:
        for number in range(5):
            backup(database, tmp_path / f"{number}.backup")
    finally:
        stop.set()
        thread.join()
    restore(target, tmp_path / "4.backup")
    names = {name for name, _ in list_fleets(target, "acme", "", 100_000)}
    firsts = {n[1:] for n in names if n[0] == "z"}
    twins = {n[1:] for n in names if n[0] == "a"}
    assert twins <= firsts
    assert len(firsts - twins) <= 1


def test_the_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "store.backup"
    monkeypatch.setenv("COLDWRIGHT_DATABASE_URL", f"sqlite:///{tmp_path}/one.sqlite3")
    assert main(["store", "backup", str(file)]) == 2, "nothing is there yet to be backed up"
    assert not file.exists()
    assert main(["store", "migrate"]) == 0
    assert main(["keys", "create", "--tenant", "acme", "--scopes", "book"]) == 0
    assert main(["store", "backup", str(file)]) == 0
    assert "1 rows" in capsys.readouterr().out
    assert main(["store", "restore", str(file)]) == 2
    assert "api_keys" in capsys.readouterr().err
    monkeypatch.setenv("COLDWRIGHT_DATABASE_URL", f"sqlite:///{tmp_path}/two.sqlite3")
    assert main(["store", "restore", str(file)]) == 0
    assert main(["store", "check"]) == 0
    assert main(["store", "restore", str(tmp_path / "nothing")]) == 2
    assert main(["store", "backup", str(tmp_path / "no" / "folder")]) == 2
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".")] == []
