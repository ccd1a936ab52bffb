"""Processes that run others' code: groups and sessions that end together. Knows the operating system and nothing else."""
