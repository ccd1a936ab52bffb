"""Numbers for Prometheus: few, cheap, and named by what they count."""

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

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
            "coldwright_job_items", "Items of jobs done.", ["calculator", "outcome"], registry=self._registry
        )
        self.refusals = Counter("coldwright_problems", "Problems by type.", ["problem"], registry=self._registry)
        self.set_aside = Gauge("coldwright_plugins_set_aside", "Plugins set aside.", registry=self._registry)
        self.store_errors = Counter(
            "coldwright_store_errors", "Failed uses of the store.", ["kind"], registry=self._registry
        )

    def count_item(self, calculator: str, outcome: str) -> None:
        """An item of a job that is done, with its outcome or `failed`."""
        self.items.labels(calculator, outcome).inc()

    def count_answer(self, calculator: str, outcome: str, seconds: float) -> None:
        """One evaluation, with its time."""
        self.evaluations.labels(calculator).observe(seconds)
        self.outcomes.labels(calculator, outcome).inc()

    def count_request(self, operation: str, status: int) -> None:
        """One request answered."""
        self.requests.labels(operation, status).inc()

    def page(self) -> bytes:
        """Text exposition format."""
        return generate_latest(self._registry)
