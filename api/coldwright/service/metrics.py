"""Numbers for Prometheus: few, cheap, and named by what they count."""

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

_BUCKETS = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)

MOST_WAITING = 1000
"""Times of one calculator and outcome that wait to be counted."""


class Metrics:
    """One set a service, so that tests can run several side by side. Counts in one event loop, so it needs no lock."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self.requests = Counter(
            "coldwright_requests", "Requests answered.", ["operation", "status"], registry=self._registry
        )
        self.evaluations = Histogram(
            "coldwright_evaluation_seconds",
            "Time from the read input to the encoded answer.",
            ["calculator"],
            buckets=_BUCKETS,
            registry=self._registry,
        )
        self.outcomes = Counter(
            "coldwright_outcomes", "Answers by outcome.", ["calculator", "outcome"], registry=self._registry
        )
        self.refusals = Counter("coldwright_problems", "Problems by type.", ["problem"], registry=self._registry)
        self.set_aside = Gauge("coldwright_plugins_set_aside", "Plugins set aside.", registry=self._registry)
        self.store_errors = Counter(
            "coldwright_store_errors", "Failed uses of the store.", ["kind"], registry=self._registry
        )

        self._answers: dict[tuple[str, str], list[float]] = {}
        self._requests: dict[tuple[str, int], int] = {}

    def count_answer(self, calculator: str, outcome: str, seconds: float) -> None:
        """One evaluation, with its time. Times wait in a list: the library's locks cost a tenth of a small answer."""
        waiting = self._answers.setdefault((calculator, outcome), [])
        waiting.append(seconds)
        if len(waiting) >= MOST_WAITING:
            self._count_waiting()

    def count_request(self, operation: str, status: int) -> None:
        """One request answered."""
        key = operation, status
        self._requests[key] = self._requests.get(key, 0) + 1

    def _count_waiting(self) -> None:
        for (calculator, outcome), times in self._answers.items():
            child = self.evaluations.labels(calculator)
            for seconds in times:
                child.observe(seconds)
            self.outcomes.labels(calculator, outcome).inc(len(times))
            times.clear()
        for (operation, status), number in self._requests.items():
            self.requests.labels(operation, status).inc(number)
        self._requests.clear()

    def page(self) -> bytes:
        """Text exposition format."""
        self._count_waiting()
        return generate_latest(self._registry)
