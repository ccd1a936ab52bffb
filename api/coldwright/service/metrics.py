"""Numbers for Prometheus: few, cheap, and named by what they count."""

from collections import Counter as Counts
from collections.abc import Iterable

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest, start_http_server

_BUCKETS = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)


class Metrics:
    """One set a service, so that tests can run several side by side."""

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
        self.items = Counter(
            "coldwright_job_items", "Items of jobs done.", ["tenant", "calculator", "outcome"], registry=self._registry
        )
        self.put_back = Counter(
            "coldwright_job_put_back",
            "Chunks of jobs, or items of them, that have to be tried again, by what went wrong.",
            ["tenant", "calculator", "reason"],
            registry=self._registry,
        )
        self._waiting = Gauge(
            "coldwright_job_chunks_waiting",
            "Chunks of jobs that are not done: about a second of work each.",
            ["tenant", "calculator"],
            registry=self._registry,
        )
        self._oldest = Gauge(
            "coldwright_job_oldest_seconds",
            "Age of the oldest job that is not done.",
            ["tenant", "calculator"],
            registry=self._registry,
        )
        self.refusals = Counter("coldwright_problems", "Problems by type.", ["problem"], registry=self._registry)
        self.set_aside = Gauge("coldwright_plugins_set_aside", "Plugins set aside.", registry=self._registry)
        self.store_errors = Counter(
            "coldwright_store_errors", "Failed uses of the store.", ["kind"], registry=self._registry
        )

    def count_items(self, tenant: str, calculator: str, outcome: str, count: int) -> None:
        """Items of a job that are done, with their outcome or `failed`."""
        self.items.labels(tenant, calculator, outcome).inc(count)

    def count_put_back(self, tenant: str, calculator: str, reason: str) -> None:
        """A chunk that has to be tried again."""
        self.put_back.labels(tenant, calculator, reason).inc()

    def show_backlog(self, waiting: Iterable[tuple[str, str, int, float]]) -> None:
        """What waits: tenant, calculator, chunks, and seconds since the oldest job was made."""
        self._waiting.clear()
        self._oldest.clear()
        chunks: Counts[tuple[str, str]] = Counts()
        oldest: dict[tuple[str, str], float] = {}
        for tenant, calculator, count, age in waiting:
            key = tenant, calculator
            chunks[key] += count
            oldest[key] = max(oldest.get(key, 0.0), age)
        for key, count in chunks.items():
            self._waiting.labels(*key).set(count)
            self._oldest.labels(*key).set(oldest[key])

    def count_answer(self, calculator: str, outcome: str, seconds: float) -> None:
        """One evaluation, with its time."""
        self.evaluations.labels(calculator).observe(seconds)
        self.outcomes.labels(calculator, outcome).inc()

    def count_request(self, operation: str, status: int) -> None:
        """One request answered."""
        self.requests.labels(operation, status).inc()

    def serve(self, host: str, port: int) -> None:
        """Answer with these numbers at an address, in a thread of its own: for a process that serves nothing else."""
        start_http_server(port, host, self._registry)

    def page(self) -> bytes:
        """Text exposition format."""
        return generate_latest(self._registry)
