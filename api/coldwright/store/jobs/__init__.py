"""Jobs: many evaluations that outlive a request. The rows are the truth: a chunk can be worked off twice without harm."""

from coldwright.store.jobs.job import ENDED, Item, Job, JobState, KeyReused, New, NewItem, TooManyJobs
from coldwright.store.jobs.keep import cancel_job, create_job, get_job, jobs_under_way, list_jobs
from coldwright.store.jobs.results import list_items, list_worst

__all__ = [
    "ENDED",
    "Item",
    "Job",
    "JobState",
    "KeyReused",
    "New",
    "NewItem",
    "TooManyJobs",
    "cancel_job",
    "create_job",
    "get_job",
    "jobs_under_way",
    "list_items",
    "list_jobs",
    "list_worst",
]
