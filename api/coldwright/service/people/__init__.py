"""Pages that people use in a browser: yard, bench, recording a start, answering the questions of a plan, signing in."""
