"""Random sets of observations: a start by the book, then what happens to records on a site. Seeded; all invented."""

import copy
import random
from datetime import UTC, datetime, timedelta
from typing import Any

from quantity import q

from .book import DAY, Configuration, Record, by_the_book, configurations, seen
from .edits import EDITABLE
from .variants import variants

CONFIGURATIONS = list(configurations())
PEOPLE = ("lee", "kim", "ash", "")
ROLES = ("electrician", "technician", "supervisor", "owner")
EVENING = datetime(2026, 5, 4, 9, 6, tzinfo=UTC)


def _stamp(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def _moment(record: Record) -> datetime:
    return datetime.fromisoformat(record["at"].replace("Z", "+00:00"))


def _clock(rng: random.Random) -> str:
    """Few instants, so that ties are common; most of them late, where they matter."""
    second = rng.choice([*range(7 * 3600, 8 * 3600, 600), *range(8 * 3600, 9 * 3600, 300), *range(32280, 32820, 30)])
    return f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"


def _bool(rng: random.Random) -> bool:
    return rng.random() < 0.5


ELECTRICIANS = {"proved_dead", "line_connection", "earth_continuity", "insulation_test", "transfer_interlock"}


class Site:
    """A set in the making."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.configuration: Configuration = self.rng.choice(CONFIGURATIONS)[1]
        self.records: list[Record] = copy.deepcopy(by_the_book(self.configuration))
        self.asked = EVENING
        self.pump = "machine" if self.configuration["pump_mode"] == "own_pump" else "site"
        self.may_say = variants(self.pump)
        self._made = 0
        self._phones = 0

    def data(self, kind: str) -> dict[str, Any]:
        """Something that may be said under this kind."""
        return dict(self.rng.choice(self.may_say[kind]))

    def _name(self, record: Record) -> Record:
        self._made += 1
        return record | {"id": f"x{self._made}"}

    def one(self) -> Record:
        """Any record of the set, the later ones oftener."""
        place = int(len(self.records) * self.rng.random() ** 0.6)
        return self.records[min(place, len(self.records) - 1)]

    # --- what may happen -------------------------------------------------------------------------------------
    def drop(self) -> None:
        """One was never made."""
        self.records.remove(self.one())

    def delay(self) -> None:
        """One was made earlier or later."""
        record = self.one()
        record["at"] = _stamp(
            _moment(record) + timedelta(seconds=self.rng.choice([-3600, -600, -60, -20, 20, 60, 240, 900]))
        )

    def uncertain(self) -> None:
        """One is known to within a while only."""
        self.one()["time_uncertainty"] = q(self.rng.choice([5, 20, 60, 300, 1800]), "s")

    def all_uncertain(self) -> None:
        """All are."""
        for record in self.records:
            record["time_uncertainty"] = q(self.rng.choice([1, 5, 10]), "s")

    def wild(self) -> None:
        """Something else was seen at any time."""
        kind = self.rng.choice(sorted(self.may_say))
        extra = {"role": "electrician"} if kind in ELECTRICIANS else {}
        by = self.rng.choice(PEOPLE[:3]) if kind == "lock" or kind in ELECTRICIANS else self.rng.choice(PEOPLE)
        self.records.append(self._name(seen(kind, _clock(self.rng), by, **extra, **self.data(kind))))

    def again(self) -> None:
        """One is looked at once more, with the same result."""
        record = copy.deepcopy(self.one())
        record["at"] = f"{DAY}{_clock(self.rng)}Z"
        self.records.append(self._name(record))

    def wild_and_cured(self) -> None:
        """Something adverse, and all of the last minutes done again after it."""
        self.wild()
        shift = timedelta(minutes=self.rng.choice([12, 20]))
        last = [
            r
            for r in copy.deepcopy(self.records)
            if "08:51" <= r["at"][11:16] <= "09:06" and not r["id"].startswith("x")
        ]
        for record in last:
            record["at"] = _stamp(_moment(record) + shift)
            self.records.append(self._name(record))
        self.asked += shift

    def late(self) -> None:
        """One arrived late, or its device runs ahead."""
        record = self.one()
        record["received_at"] = _stamp(_moment(record) + timedelta(seconds=self.rng.choice([-600, -30, 0, 30, 1200])))

    def future(self) -> None:
        """One is stamped after the question."""
        self.one()["at"] = _stamp(self.asked + timedelta(seconds=self.rng.choice([20, 90, 119, 121, 900])))

    def wrong_clock(self) -> None:
        """One phone's records, its clock off by a known time."""
        offset = self.rng.choice([-300, -20, 20, 300])
        for record in self.rng.sample(self.records, len(self.records) // 3):
            record["at"] = _stamp(_moment(record) + timedelta(seconds=offset))
            record["clock_offset"] = q(offset, "s")

    def device(self) -> None:
        """One phone counts its records; its clock was compared with the service's, or was not."""
        compared, drift = _bool(self.rng), timedelta(seconds=self.rng.choice([0, 0, 30]))
        mine = sorted(self.rng.sample(self.records, len(self.records) // 2), key=lambda r: r["at"])
        self._phones += 1
        for number, record in enumerate(mine):
            true = _moment(record)
            record |= {"device": f"p{self._phones}", "boot": "b1", "sequence": number + 1}
            record.pop("uptime", None)
            record["at"] = _stamp(true + drift)
            if compared:
                record["sent_at"], record["received_at"] = _stamp(true + drift), _stamp(true)
        self._spaced(mine, random.Random(f"uptime {mine[0]['id']} {len(mine)} {compared}"))

    def _spaced(self, mine: list[Record], rng: random.Random) -> None:
        """Many phones tell their uptime too; then all of their stamps may be off together, by much."""
        switched_on = _moment(min(self.records, key=_moment)) - timedelta(minutes=5)
        if rng.random() < 0.7:
            unsure = rng.choice([0, 0, 60, 600])
            for record in mine:
                record["uptime"] = q((_moment(record) - switched_on).total_seconds(), "s")
                if unsure:
                    record["time_uncertainty"] = q(unsure, "s")

    def correction(self) -> None:
        """One is replaced or taken back, by whoever."""
        named = self.one()
        by = self.rng.choice([named.get("by") or "lee", "kim", "ash"])
        role = self.rng.choice(["", "", "supervisor"])
        if _bool(self.rng):
            record = copy.deepcopy(named)
            record["data"] = self.data(named["kind"]) if named["kind"] in self.may_say else dict(named["data"])
            for name in (
                "lock_id",
                "valve",
                "label",
                "in_flow_path",
                "end",
                "point",
                "code",
                "pump",
                "id",
                "compressor",
                "item",
            ):
                if name in named["data"]:
                    record["data"][name] = named["data"][name]
                elif name in record["data"]:
                    return
            record |= {"by": by} if by else {}
            record.pop("sequence", None)
            record.pop("device", None)
            record.pop("boot", None)
            record.pop("uptime", None)
        else:
            record = seen("withdrawn", _clock(self.rng), by, reason="mistake")
        record["supersedes"] = named["id"]
        if role:
            record["role"] = role
        self.records.append(self._name(record))

    def settled(self) -> None:
        """Somebody qualified, or not, settles a check."""
        check = self.rng.choice(["I3", "I10", "I12", "I14", "I15", "I16", "R01", "repeated_trips"])
        ids = [r["id"] for r in self.records]
        data = {"check": check, "records": self.rng.choice([ids, ids[-1:]]), "found": "looked at", "done": "put right"}
        self.records.append(self._name(seen("settled", _clock(self.rng), "ash", self.rng.choice(ROLES), **data)))

    def lock_story(self) -> None:
        """A lock goes on and off, by its owner or another; somebody looks for locks afterwards, or not."""
        owner, other = self.rng.choice([("kim", "kim"), ("kim", "lee")])
        minute = self.rng.choice([30, 45, 60])
        for clock, by, state in ((minute, owner, "applied"), (minute + 2, other, "removed")):
            self.records.append(
                self._name(seen("lock", f"{7 + clock // 60:02d}:{clock % 60:02d}", by, lock_id="L7", state=state))
            )

    def alarm_story(self) -> None:
        """An alarm comes and is reset, once or more often."""
        for turn in range(self.rng.choice([1, 2, 3])):
            for second, state in ((0, "active"), (30, "cleared")):
                clock = f"08:{10 + 10 * turn}:{second:02d}"
                self.records.append(self._name(seen("alarm", clock, code="A", state=state)))

    def same_second(self) -> None:
        """Several in one second."""
        first = self.one()
        for record in self.rng.sample(self.records, 3):
            if abs(_moment(record) - _moment(first)) < timedelta(minutes=3):
                record["at"] = first["at"]

    def two_contents(self) -> None:
        """One id says two things."""
        record = self.one()
        if record["kind"] in self.may_say:
            self.records.append(record | {"data": self.data(record["kind"])})

    def older(self) -> None:
        """The question comes later, or earlier."""
        self.asked += timedelta(minutes=self.rng.choice([-5, -2, 1, 3, 8, 25, 300]))

    def started(self) -> None:
        """A compressor goes on; more is seen after it."""
        on = self.asked + timedelta(seconds=self.rng.choice([-30, 5, 5, 5]))
        self.records.append(self._name(seen("compressor", _iso_clock(on), id="1", state="on")))
        for _ in range(self.rng.choice([0, 1, 1, 2, 3])):
            self.wild()
            if _bool(self.rng):
                self.records[-1]["at"] = _stamp(on + timedelta(seconds=self.rng.choice([30, 60, 180, 400])))
        if self.rng.random() < 0.3:
            self.records.append(
                self._name(seen("compressor", _iso_clock(on + timedelta(seconds=420)), id="1", state="off"))
            )
            if _bool(self.rng):
                self.records.append(
                    self._name(seen("unit_stop", _iso_clock(on + timedelta(seconds=430)), state="stopped"))
                )
        self.asked = on + timedelta(seconds=self.rng.choice([10, 60, 240, 500, 1500]))


def _iso_clock(moment: datetime) -> str:
    return moment.strftime("%H:%M:%S")


MILD = (
    Site.uncertain,
    Site.again,
    Site.late,
    Site.wrong_clock,
    Site.device,
    Site.wild,
    Site.all_uncertain,
    Site.settled,
)
HARD = (
    Site.drop,
    Site.delay,
    Site.wild,
    Site.wild,
    Site.wild_and_cured,
    Site.future,
    Site.correction,
    Site.correction,
    Site.same_second,
    Site.two_contents,
    Site.lock_story,
    Site.alarm_story,
    Site.older,
)


def random_set(seed: int) -> dict[str, Any]:
    """A request of `readiness.startup`: every seed its own."""
    site = Site(seed)
    rng = site.rng
    for _ in range(rng.choice([0, 1, 1, 2, 3])):
        rng.choice(MILD)(site)
    for _ in range(rng.choice([0, 0, 1, 1, 2, 3])):
        rng.choice(HARD)(site)
    if rng.random() < 0.25:
        site.started()
    rng.shuffle(site.records)
    edits = _edits(random.Random(f"edits of {seed}"))  # of their own, so that the records of a seed stay as they were
    site.records += [copy.deepcopy(r) for r in rng.choices(site.records, k=rng.choice([0, 0, 3]))]
    request = {"configuration": site.configuration, "evaluated_at": _stamp(site.asked), "observations": site.records}
    return request | ({"configuration_changes": edits} if edits else {})


def _edits(rng: random.Random) -> list[dict[str, Any]]:
    """Now and then the plan was edited meanwhile."""
    return [
        {"at": f"2026-05-04T{_clock(rng)}Z", "fields": rng.sample(EDITABLE, k=rng.choice([1, 1, 2]))}
        for _ in range(rng.choice([0] * 9 + [1, 1, 2]))
    ]
