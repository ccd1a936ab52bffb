"""The best thing to do now: one thing that can be done, named by its subject, with the records that would settle it."""
