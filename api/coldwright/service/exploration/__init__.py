"""Many questions in one request: worksheets, sweeps and limits. Works for every calculator, ours or not."""
