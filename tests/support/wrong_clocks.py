"""What happened on a site, and what two phones made of it whose clocks are wrong, or are set while people work.

Each start has a truth: records at the instants at which they were really made. The phones stamp them by their own clocks, in
any zone, count them or not, tell their uptime or not, and send them at once or later, some of them twice. All invented.
"""

import copy
import random
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from quantity import q
from start_engine.random_sets import Site

Json = dict[str, Any]
HOURS = (0, 2, -5)
"""Zones in which stamps are written: the same instant, otherwise put."""
STORIES = ("right", "wrong all day", "set back", "set right", "there and back", "time changes at night")


def seconds(value: float) -> timedelta:
    return timedelta(seconds=value)


def stamp(rng: random.Random, moment: datetime) -> str:
    return moment.astimezone(timezone(timedelta(hours=rng.choice(HOURS)))).isoformat()


@dataclass
class Phone:
    """Its clock is off by `jumps`: from an instant on by so many seconds."""

    name: str
    booted: datetime
    jumps: list[tuple[datetime, float]]
    counts: bool
    tells_uptime: bool
    tells_when_sent: bool
    made: int = 0

    def clock(self, moment: datetime) -> datetime:
        off = 0.0
        for since, error in self.jumps:
            off = error if moment >= since else off
        return moment + seconds(off)


def _jumps(rng: random.Random, story: str, begin: datetime, end: datetime) -> list[tuple[datetime, float]]:
    """Most of them in the last minutes, where they matter."""
    span = (end - begin).total_seconds()
    first = begin + seconds(rng.choice([rng.random() * span, span - rng.choice([60, 240, 600, 1500])]))
    second = first + seconds(rng.random() * (end - first).total_seconds())
    long_ago = begin - seconds(9999)
    by_story: dict[str, list[tuple[datetime, float]]] = {
        "right": [],
        "wrong all day": [(long_ago, rng.choice([-3600, 3600, -300, 300]))],
        "set back": [(first, -3600.0)],
        "set right": [(long_ago, -3600.0), (first, 0.0)],
        "there and back": [(first, rng.choice([-3600.0, 3600.0])), (second, 0.0)],
        "time changes at night": [(long_ago, 3600.0), (first, 0.0)],
    }
    return by_story[story]


def told_by_phones(seed: int) -> tuple[str, Json, Json]:
    """The story of the clocks, the request as phones make it, and the same as it really was."""
    rng, site = random.Random(seed), Site(seed)
    if rng.random() < 0.7:
        for _ in range(rng.choice([1, 1, 2])):
            site.wild()
        if rng.random() < 0.5:
            site.wild_and_cured()
    if rng.random() < 0.3:
        site.correction()
    if rng.random() < 0.1:
        site.two_contents()
    if rng.random() < 0.3:
        site.started()
    end = site.asked
    records = [r for r in copy.deepcopy(site.records) if datetime.fromisoformat(r["at"]) <= end]
    records.sort(key=lambda r: r["at"])
    begin, story = datetime.fromisoformat(records[0]["at"]), rng.choice(STORIES)
    phones = [
        Phone(
            name,
            begin - seconds(600),
            _jumps(rng, story if name == "A" or rng.random() < 0.3 else "right", begin, end),
            counts=rng.random() < 0.85,
            tells_uptime=rng.random() < 0.4,
            tells_when_sent=rng.random() < 0.8,
        )
        for name in ("A", "B")
    ]
    told = [copy for record in records for copy in _told(rng, rng.choice(phones), record, end)]
    rng.shuffle(told)
    request = {"configuration": site.configuration, "evaluated_at": end.isoformat().replace("+00:00", "Z")}
    return story, request | {"observations": told}, request | {"observations": records}


def _told(rng: random.Random, phone: Phone, record: Json, end: datetime) -> list[Json]:
    """A record as its phone sends it, now and then twice: the first arrival counts."""
    true = datetime.fromisoformat(record["at"])
    phone.made += 1
    told = copy.deepcopy(record) | {"at": stamp(rng, phone.clock(true))}
    if phone.counts:
        told |= {"device": phone.name, "boot": "b1", "sequence": phone.made}
        if phone.tells_uptime:
            told["uptime"] = q((true - phone.booted).total_seconds(), "s")
    copies = []
    sent = true
    for _ in range(rng.choice([1] * 9 + [2])):
        sent = min(end, sent + seconds(rng.choice([0, 0, 0, 30, 600, 1800])))
        arrival = {"received_at": sent.isoformat()}
        if phone.tells_when_sent:
            arrival["sent_at"] = stamp(rng, phone.clock(sent))
        copies.append(copy.deepcopy(told) | arrival)
    return copies
