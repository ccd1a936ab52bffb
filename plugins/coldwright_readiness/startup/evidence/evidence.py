"""Everything that the rules ask of the records: lists by kind, and the states that several rules share."""

from collections.abc import Callable, Iterable
from typing import Any

from coldwright_basis.once import once
from coldwright_readiness.startup.evidence.known import Against, Known
from coldwright_readiness.startup.evidence.power import Power
from coldwright_readiness.startup.evidence.pumping import Pumping
from coldwright_readiness.startup.evidence.record import Record
from coldwright_readiness.startup.evidence.records import Records

Test = Callable[[Any], bool]


class Evidence(Records):
    """The records of one start, and what is surely known from them at the time of the question."""

    @once
    def _records(self) -> Records:
        return Records(self.taken, self.limits, self.now, warm_from=self.warm_from, rest_from=self.rest_from)

    @once
    def required(self) -> bool:
        """Whether proof of the connection is asked for in any case."""
        return self.limits.configuration.require_connection_evidence

    @once
    def power(self) -> Power:
        """Supply, switches, heat of the oil."""
        return Power(self._records)

    @once
    def pumping(self) -> Pumping:
        """Pumps, flow, fillings and first runs."""
        return Pumping(self._records, self.power)

    def such(self, kind: str, test: Test) -> list[Record]:
        """Records of a kind whose data are such."""
        return [r for r in self.of(kind) if test(r.data)]

    def about(self, kind: str, *subject: str) -> list[Record]:
        """Records of one kind and subject."""
        return self.by_subject(kind).get(subject, [])

    def by_subject(self, kind: str) -> dict[tuple[str, ...], list[Record]]:
        """Records of a kind for each subject, subjects in order."""
        if kind not in self._subjects:
            groups: dict[tuple[str, ...], list[Record]] = {}
            for r in self.of(kind):
                groups.setdefault(r.subject[1], []).append(r)
            self._subjects[kind] = dict(sorted(groups.items()))
        return self._subjects[kind]

    def subjects(self, kind: str) -> dict[tuple[str, ...], list[Record]]:
        """The same, with the subjects of which only doubts are left."""
        doubted: dict[tuple[str, ...], list[Record]] = {subject: [] for k, subject in self.taken.doubts if k == kind}
        return dict(sorted((doubted | self.by_subject(kind)).items()))

    @once
    def _subjects(self) -> dict[str, dict[tuple[str, ...], list[Record]]]:
        return {}

    def doubts(self, kind: str, *subject: str) -> list[Record]:
        """What makes earlier good records of a subject unsafe."""
        return self.taken.doubts.get((kind, subject), [])

    @once
    def moves(self) -> list[Record]:
        """Every time the machine was moved."""
        return self.of("moved")

    @once
    def line_work(self) -> list[Record]:
        """Work on the lines."""
        return self.of("line_connection", "leads_swapped")

    def known(self, kind: str, good: Test, *, also_against: Iterable[Record] = ()) -> Known:
        """A state of which one kind tells: good records for it, the others and what else undoes it against it."""
        records = self.of(kind)
        against = [r for r in records if not good(r.data)]
        return Known([r for r in records if good(r.data)], Against([*against, *also_against]))
